"""Kept decisions: what was answered by a method is repeated by it, byte for byte, for ever."""

from __future__ import annotations

import hashlib
import json
from collections.abc import AsyncIterator
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from tests.answers.ledger import open_ledger
from tests.api import KINDS, World, empty_world

from gradewright.answers.pins import Answer
from gradewright.db.answers import AnswerRow
from gradewright.db.packed import pack
from gradewright.hauls.schemas import HaulIn
from gradewright.recoveries.schemas import RecoveryIn
from gradewright.settlements.models import SettlementRow
from gradewright.settlements.schemas import SettlementIn
from gradewright.teardowns.schemas import TeardownIn
from gradewright.teardowns.service import as_asked
from gradewright.valuations.models import ValuationRow
from gradewright.valuations.schemas import ValuationIn

DECISIONS = json.loads((Path(__file__).parent / "kept" / "decisions.json").read_text(encoding="utf-8"))
VALUED: dict[str, Any] = DECISIONS["valuation"]
AUTHOR = "wren"


@pytest.fixture(scope="module", params=KINDS)
async def ledger(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """The ledger that the answers were given from, and the valuation that some are held against."""
    async with empty_world(request, request.param) as world:
        await open_ledger(world)
        request_ = ValuationIn.model_validate(VALUED["request"]).request()
        body = (await world.services.valuations.value(request_, "3")).body
        await keep(world, ValuationRow, VALUED["id"], VALUED["request"], body)
        yield world


async def keep(world: World, rows: type[Any], name: str, asked: Any, answer: bytes, **beside: Any) -> None:
    """A row as it was written when an answer was kept."""
    pins = json.loads(answer)["pins"]
    row = rows(
        id=name,
        created_at=world.clock(),
        request=json.dumps(asked),
        rulebook=pins["rulebook"],
        revision=pins["revision"],
        method=pins["method"],
        answer=await pack(answer),
        sha256=pins["sha256"],
        **beside,
    )
    async with world.services.database.write() as session:
        session.add(row)


async def keep_settlement(world: World, name: str, asked: Any, answer: bytes) -> None:
    """A settlement, with the row that says whose it is."""
    await keep(world, AnswerRow, name, asked, answer, author=AUTHOR)
    row = SettlementRow(
        id=name,
        yard=asked["yard"],
        author=AUTHOR,
        ticket_on=date.fromisoformat(asked["ticket"]["on"]),
        ticket=hashlib.sha256(name.encode()).hexdigest(),
        turn=0,
        posting=None,
        settled_at=world.clock(),
    )
    async with world.services.database.write() as session:
        session.add(row)


@pytest.mark.parametrize("number", range(len(DECISIONS["kept"])), ids=lambda n: DECISIONS["kept"][n]["what"])
async def test_what_was_kept_by_method_1_is_repeated_by_it(ledger: World, number: int) -> None:
    """The request is answered with the bytes of the day they were pinned, by each method from the newest to
    method 1, and a row that was kept then, with its request in the form of then, replays to those of
    method 1. Where the newest refuses what it was asked, the places that it points at are held instead.
    """
    held = DECISIONS["kept"][number]
    answered = await ledger.send(held["path"], held["request"], AUTHOR)
    newest = held.get("newest", {"method": "1", "sha256": held["sha256"]})
    if "refused" in newest:
        assert [fault["pointer"] for fault in answered.json()["errors"]] == newest["refused"]
    else:
        assert answered.status_code == 200, answered.text
        assert answered.json()["pins"]["method"] == newest["method"]
        assert hashlib.sha256(answered.content).hexdigest() == newest["sha256"]
    for method, sha256 in held.get("between", {}).items():
        assert hashlib.sha256(await by_method(ledger, held, method)).hexdigest() == sha256
    body = answered.content if newest["method"] == "1" else await by_method(ledger, held, "1")
    told = json.loads(body)
    assert told["pins"]["method"] == "1"
    assert {name: told[name] for name in held["tells"]} == held["tells"]
    assert hashlib.sha256(body).hexdigest() == held["sha256"]
    if held["path"] == "/v1/settlements":
        await keep_settlement(ledger, held["id"], held["asked"], body)
    else:
        await keep(ledger, AnswerRow, held["id"], held["asked"], body)
    again = await ledger.client.post(f"{held['path']}/{held['id']}/replay", headers=await ledger.key(AUTHOR))
    assert (again.status_code, again.content) == (200, body)


@pytest.mark.parametrize("held", DECISIONS["since_5"], ids=lambda held: held["what"])
async def test_what_was_answered_of_several_devices_is_repeated(ledger: World, held: dict[str, Any]) -> None:
    """How many devices of a kind weigh so much can be told since method 5 of teardowns: by each method since
    the bytes are those of the day they were pinned, and a row that was kept then replays to them. What is
    asked now is answered by the newest.
    """
    request = TeardownIn.model_validate(held["request"]).request()
    for method, sha256 in held["by"].items():
        given = await ledger.services.teardowns.work_out(request, method)
        assert hashlib.sha256(given.body).hexdigest() == sha256
        name = f"{held['id']}{method}"
        await keep(ledger, AnswerRow, name, as_asked(request, given), given.body)
        again = await ledger.client.post(f"/v1/teardowns/{name}/replay")
        assert (again.status_code, again.content) == (200, given.body)
    answered = await ledger.send("/v1/teardowns", held["request"], AUTHOR)
    assert answered.content == given.body


async def by_method(world: World, held: dict[str, Any], method: str) -> bytes:
    """The answer to a request of which newer methods answer otherwise."""
    form, work = {
        "/v1/teardowns": (TeardownIn, world.services.teardowns.work_out),
        "/v1/hauls": (HaulIn, world.services.hauls.haul),
        "/v1/recoveries": (RecoveryIn, world.services.recoveries.recover),
        "/v1/settlements": (SettlementIn, world.services.settlements.settle),
    }[held["path"]]
    worked = await work(form.model_validate(held["request"]).request(), method)
    return worked.body if isinstance(worked, Answer) else worked.answer.body


def test_what_is_held_shows_all_that_can_be_told() -> None:
    """The kept answers have every part of a difference, what stays and what is second best of a haul, devices
    that are opened and not, and each kind of recovery.
    """
    tells = {each["what"]: each["tells"] for each in DECISIONS["kept"]}
    settled = [tells["a settlement"]["effects"], tells["a settlement against a valuation"]["effects"]]
    assert all(any(Decimal(each[name]) for each in settled) for name in settled[0])
    assert tells["a settlement"]["flaws"]
    assert tells["a haul"]["kept"]
    assert tells["a haul"]["second"]["yards"]
    opened = {name: told["says"].split()[0] for name, told in tells.items() if "teardown" in name}
    assert set(opened.values()) == {"Open", "Sell"}
    assert tells["a teardown"]["missing"]
    kinds = {each["asked"]["kind"] for each in DECISIONS["kept"] if each["path"] == "/v1/recoveries"}
    assert kinds == {"cable", "sample", "displacement", "assay"}
