"""A kept answer that was changed past the service is named, of every kind and of every method."""
# ruff: noqa: S608 - names of tables that stand in this file

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from typing import Any

import pytest
from sqlalchemy import text
from tests.answers.ledger import open_ledger
from tests.answers.test_bytes import AUTHOR, DECISIONS, VALUED, by_method, keep, keep_settlement
from tests.api import World, empty_world
from tests.conftest import KINDS
from tests.ledger.tampering import tampering, url_of
from typer.testing import CliRunner

from gradewright.cli import app
from gradewright.db.answers import AnswerRow
from gradewright.db.packed import pack, unpack
from gradewright.hauls import service as hauls
from gradewright.ledger.report import Report
from gradewright.recoveries import service as recoveries
from gradewright.settlements import service as settlements
from gradewright.teardowns import service as teardowns
from gradewright.valuations import service as valuations
from gradewright.valuations.models import ValuationRow
from gradewright.valuations.schemas import ValuationIn
from gradewright.valuations.witnesses import hold_answers

OLDER = {
    kind.path: kind.methods[:-1] for kind in (hauls.KIND, recoveries.KIND, settlements.KIND, teardowns.KIND)
}


@pytest.fixture(scope="module", params=KINDS)
async def kept(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """Every kind of answer, kept over the interface by its newest method, and by each one before."""
    async with empty_world(request, request.param) as world:
        await open_ledger(world)
        valued = ValuationIn.model_validate(VALUED["request"]).request()
        for method in valuations.KIND.methods[:-1]:
            body = (await world.services.valuations.value(valued, method)).body
            name = VALUED["id"] if method == "3" else f"v-by-{method}"
            await keep(world, ValuationRow, name, VALUED["request"], body)
        asked = [("/v1/valuations", VALUED["request"])]
        asked += [(each["path"], each["request"]) for each in DECISIONS["kept"] if "sha256" in each["newest"]]
        for path, body in asked:
            made = await world.send(path, {**body, "keep": True}, AUTHOR)
            assert made.status_code == 201, made.text
        for held in DECISIONS["kept"]:
            answering = (
                ("1", *held.get("between", ())) if "refused" in held["newest"] else OLDER[held["path"]]
            )
            for method in answering:
                answer, name = await by_method(world, held, method), f"{held['id']}-{method}"
                if held["path"] == "/v1/settlements":
                    await keep_settlement(world, name, held["asked"], answer)
                else:
                    await keep(world, AnswerRow, name, held["asked"], answer)
        yield world


async def _held(world: World) -> Report:
    report = Report()
    await hold_answers(world.services.database, report)
    return report


async def _rows(world: World, table: str) -> list[dict[str, Any]]:
    async with world.services.database.read() as session:
        found = await session.execute(text(f"SELECT * FROM {table} ORDER BY id"))
        return [dict(row) for row in found.mappings()]


async def test_untouched_answers_are_sound(kept: World) -> None:
    """Each kind is there, by the newest method and by every one before, and nothing is said of any."""
    rows = await _rows(kept, "valuations") + await _rows(kept, "answers")
    assert {row["id"][:2] for row in rows} == {"v-", "t-", "h-", "s-", "r-"}
    report = await _held(kept)
    assert (report.sound, report.answers) == (True, len(rows))


async def _changes(row: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """What a hand could write into the columns of a kept answer."""
    body = await unpack(row["answer"])
    digit = next(place for place, found in enumerate(body) if found in b"0123456789")
    other = b"9" if body[digit : digit + 1] != b"9" else b"1"
    swapped = "0" if row["sha256"][0] != "0" else "1"
    sha256 = swapped + row["sha256"][1:]
    both = body.replace(row["sha256"].encode(), sha256.encode())
    return {
        "a digit": {"answer": await pack(body[:digit] + other + body[digit + 1 :])},
        "cut short": {"answer": await pack(body[:-1])},
        "something behind": {"answer": await pack(body + b" ")},
        "no packed bytes": {"answer": body},
        "nothing": {"answer": b""},
        "the hash of the row": {"sha256": sha256},
        "the hash of row and answer": {"sha256": sha256, "answer": await pack(both)},
        "the method": {"method": f"{row['method']}0"},
        "the revision": {"revision": row["revision"] - 1},
    }


@pytest.mark.parametrize("table", ["valuations", "answers"])
async def test_whatever_is_changed_of_an_answer_is_named(kept: World, table: str) -> None:
    """Bytes, hash or pins of one row, each kind in turn: that row is told by its id, and no other."""
    noun = {"valuations": "valuation", "answers": "decision"}[table]
    for row in {row["id"][:2]: row for row in await _rows(kept, table)}.values():
        for what, change in (await _changes(row)).items():
            setting = ", ".join(f"{name} = :{name}" for name in change)
            with tampering(kept) as edit:
                edit(f"UPDATE {table} SET {setting} WHERE id = :id", id=row["id"], **change)
            differences = (await _held(kept)).differences
            with tampering(kept) as edit:
                edit(f"UPDATE {table} SET {setting} WHERE id = :id", **row)
            named = [(found.of, found.what, found.detail.split(":")[0]) for found in differences]
            assert named == [(noun, "changed", row["id"])], f"{what} of {row['id']}"
    assert (await _held(kept)).sound


async def test_answers_that_took_each_others_place_are_named(kept: World) -> None:
    """Two rows whose bytes alone are exchanged are both told; whole rows under other ids cannot be."""
    one, other, *_ = await _rows(kept, "answers")
    for mine, yours in ((one, other), (other, one)):
        with tampering(kept) as edit:
            edit("UPDATE answers SET answer = :answer WHERE id = :id", id=mine["id"], answer=yours["answer"])
    differences = (await _held(kept)).differences
    for mine in (one, other):
        with tampering(kept) as edit:
            edit("UPDATE answers SET answer = :answer WHERE id = :id", id=mine["id"], answer=mine["answer"])
    assert {found.detail.split(":")[0] for found in differences} == {one["id"], other["id"]}


@pytest.mark.parametrize("kept", ["sqlite"], indirect=True)
async def test_what_is_no_text_is_named_and_not_stumbled_over(kept: World) -> None:
    """SQLite takes any bytes and numbers in any column, as PostgreSQL does not: they are differences, not the
    end of the command."""
    (row, *_) = await _rows(kept, "answers")
    for column in ("sha256", "method", "rulebook"):
        for value in ("CAST(x'ff41' AS TEXT)", "x'ff'", "7"):
            with tampering(kept) as edit:
                edit(f"UPDATE answers SET {column} = {value} WHERE id = :id", id=row["id"])
            differences = (await _held(kept)).differences
            with tampering(kept) as edit:
                edit(f"UPDATE answers SET {column} = :{column} WHERE id = :id", **row)
            assert [found.detail.split(":")[0] for found in differences] == [row["id"]], (column, value)


async def test_the_operators_command_tells_it(kept: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """`gradewright verify` counts the answers it held, and ends with 1 where one is not what was kept."""
    monkeypatch.setenv("GRADEWRIGHT_DATABASE_URL", url_of(kept))
    count = len(await _rows(kept, "valuations") + await _rows(kept, "answers"))
    sound = await asyncio.to_thread(CliRunner().invoke, app, ["verify"])
    assert (sound.exit_code, f"{count} kept answers: the bytes are those" in sound.output) == (0, True)
    (row, *_) = await _rows(kept, "valuations")
    body = await unpack(row["answer"])
    with tampering(kept) as edit:
        packed = await pack(body.replace(b"3.40", b"9.40"))
        edit("UPDATE valuations SET answer = :answer WHERE id = :id", id=row["id"], answer=packed)
    told = await asyncio.to_thread(CliRunner().invoke, app, ["verify", "--json"])
    with tampering(kept) as edit:
        edit("UPDATE valuations SET answer = :answer WHERE id = :id", id=row["id"], answer=row["answer"])
    assert told.exit_code == 1
    found = json.loads(told.stdout)
    assert found["kept_answers"] == count
    assert [(each["of"], each["detail"].split(":")[0]) for each in found["differences"]] == [
        ("valuation", row["id"])
    ]
