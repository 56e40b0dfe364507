"""Verification finds and names every edit of the database that went past the service."""
# ruff: noqa: S608 - statements made of names that stand in the code

from __future__ import annotations

import json
import random
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from typing import Any

import pytest
from sqlalchemy import text
from sqlalchemy.ext.asyncio import AsyncSession
from tests.api import World, empty_world, price, settle
from tests.benchmarks.keeping import keep, make
from tests.compositions.recording import TREADMILL, recorded, withdraw
from tests.conftest import KINDS
from tests.ledger.edits import Editor

from gradewright.accounts.service import Role
from gradewright.core.checkpoint import Checkpoint
from gradewright.core.house import HouseRules, Label, OwnLimit, Refusal
from gradewright.db.leaves import seal
from gradewright.db.ledger import next_revision
from gradewright.ledger.difference import Difference
from gradewright.ledger.sealing import seal_batch
from gradewright.ledger.verify import Report, Witness, verify, verify_within
from gradewright.prices.entries import words_written
from gradewright.prices.models import WordRow

POSTINGS = 24
PRICES = 13


@dataclass
class Kept:
    """A district with a history, and a checkpoint of it."""

    world: World
    checkpoint: Checkpoint


@pytest.fixture(scope="module", params=KINDS)
async def kept(request: pytest.FixtureRequest) -> AsyncIterator[Kept]:
    """More than a block of 256 entries: prices with notes, words about them, yards, labels, refusals."""
    async with empty_world(request, request.param) as world:
        await settle(world)
        await _rule(world)
        await _keep(world)
        await _take_apart(world)
        for number in range(1, POSTINGS + 1):
            world.later(minutes=7)
            prices = [
                price(("copper-no1", "copper-no2")[more % 2], f"{number}.{more}", from_weight=f"{more} lb")
                for more in range(1, PRICES + 1)
            ]
            who, yard = f"m-{number % 5}", ("low-quay", "tern-row")[number % 2]
            note = f"seen at the gate {number}" if number % 3 else None
            made = await world.post(*prices, note=note, yard=yard, who=who)
            if number % 8 == 0:
                await _say(world, made)
            if number == POSTINGS // 2:
                await _tell_otherwise(world)
        ledger = world.services.ledger
        tree = await ledger.tree_at(await world.revision())
        yield Kept(world, Checkpoint("ledger.example.org", tree.size, tree.root))


async def _rule(world: World) -> None:
    """House rules of a yard and of its region, each an entry."""
    day = world.clock().date()
    for said in (
        HouseRules(limits=(OwnLimit("thickness", "1/8 in", day, author=None, reason="our shear"),)),
        HouseRules(labels=(Label("Girder", "steel-heavy", day),), refusals=(Refusal("steel-heavy", day),)),
    ):
        async with world.services.database.write() as session:
            await world.services.yards.say(session, "low-quay", said, world.clock())
            await world.services.regions.say(session, "XO-KEL", said, world.clock())


async def _keep(world: World) -> None:
    """A benchmark with values of several days, one of them corrected later."""
    assert (await make(world)).status_code == 201
    await keep(world, {"2026-04-01": "9000", "2026-04-02": "9010", "2026-05-01": "9450"})
    await keep(world, {"2026-05-01": "9460.50", "2026-05-04": "9500"})


async def _take_apart(world: World) -> None:
    """Two devices, all of which is told, one of them taken back."""
    part = {"grade": "tin", "weight": "40 kg", "count": 3, "says": "steel"}
    told = {"made_year": 2009, "model": "grey", "region": "XO-KEL", "source": "x", "note": "x"}
    seen = {"observed": {"metal": "copper", "steel_screws": True}, "weight": "2 kg", "count": 1}
    await recorded(world, new_kind=TREADMILL, parts=[part, seen], **told)
    made = await recorded(world, "heron", parts=[part], **told)
    assert (await withdraw(world, made, "heron")).status_code == 201


async def _tell_otherwise(world: World) -> None:
    """What treadmills are called, twice."""
    for name in ("Runner", "Treadmill"):
        body = {"name": name, "grade": "tin", "reason": "x"}
        said = await world.send("/v1/compositions/treadmill/correction", body, "sedge", Role.MAINTAINER)
        assert said.status_code == 201, said.text


async def _say(world: World, posting: Any) -> None:
    """Two words about the first prices of a posting, as entries of one revision."""
    async with world.services.database.write() as session:
        taken = await next_revision(session, world.clock())
        words = [
            WordRow(
                revision=taken.number,
                line=line,
                kind=kind,
                posting=posting["id"],
                about=line,
                yard=posting["yard"],
                observed_on=world.clock().date(),
                author=posting["author"],
                verdict="accepted" if kind == "decision" else None,
                reason="I was there",
            )
            for line, kind in ((1, "confirmation"), (2, "decision"))
        ]
        session.add_all(words)
        await session.flush()
        await seal(session, taken, words_written(words))


@asynccontextmanager
async def editing(world: World) -> AsyncIterator[AsyncSession]:
    """A session in which anything can be edited, and which leaves nothing behind."""
    database = world.services.database
    async with database.write() as session:
        if database.embedded:
            await session.execute(text("PRAGMA defer_foreign_keys=ON"))
            await session.execute(text("PRAGMA ignore_check_constraints=ON"))
            names = await session.scalars(text("SELECT name FROM sqlite_master WHERE type = 'trigger'"))
            for name in names.all():
                await session.execute(text(f"DROP TRIGGER {name}"))
        else:
            await session.execute(text("SET LOCAL session_replication_role = replica"))
            checks = await session.execute(
                text(
                    "SELECT conrelid::regclass, conname FROM pg_constraint WHERE contype = 'c' "
                    "AND connamespace = 'public'::regnamespace"
                )
            )
            for table, name in checks.all():
                await session.execute(text(f'ALTER TABLE {table} DROP CONSTRAINT "{name}"'))
        yield session
        if database.embedded:
            await session.execute(text("PRAGMA ignore_check_constraints=OFF"))
        await session.rollback()


async def _after(
    world: World, *statements: str, checkpoint: Checkpoint | None = None, **values: Any
) -> Report:
    async with editing(world) as session:
        for statement in statements:
            await session.execute(text(statement), values)
        return await verify_within(session, checkpoint=checkpoint)


def _told(report: Report) -> list[str]:
    return [found.says() for found in report.differences]


async def test_an_untouched_history_is_sound(kept: Kept) -> None:
    """Nothing is named, and the root is that of the checkpoint."""
    report = await verify(kept.world.services.database, checkpoint=kept.checkpoint)
    assert _told(report) == []
    assert (report.entries, report.root) == (kept.checkpoint.size, kept.checkpoint.root)
    assert report.entries > 256
    assert report.witnesses == 1


async def _random_edits(kept: Kept, seeds: range) -> None:
    missed = []
    for seed in seeds:
        async with editing(kept.world) as session:
            edit = await Editor(session, random.Random(seed)).one()
            report = await verify_within(session, checkpoint=kept.checkpoint)
        found = report.differences
        if not any(map(edit.names, found)):
            missed.append(f"{seed}: {edit.says}; told: {_told(report)[:5]}")
        stray = [each for each in found if not edit.names(each) and _astray(each, edit.touched)]
        if stray:
            missed.append(f"{seed}: {edit.says}; named beside it: {[each.says() for each in stray[:5]]}")
    assert missed == []


def _astray(found: Difference, touched: set[int]) -> bool:
    """Whether a difference accuses something that the edit was not near."""
    if found.of in {"checkpoint", "ledger"}:
        return False
    return bool(touched) and found.revision is not None and found.revision not in touched


async def test_random_edits_are_found_and_named(kept: Kept) -> None:
    """Values changed, rows removed, added, swapped in every table: each is told by its place, no other is."""
    await _random_edits(kept, range(60 if kept.world.services.database.embedded else 20))


@pytest.mark.campaign
async def test_a_thousand_random_edits_are_found_and_named(kept: Kept) -> None:
    """The same of a thousand edits on each kind of database."""
    await _random_edits(kept, range(60, 1060))


async def test_many_edits_at_once_are_all_named(kept: Kept) -> None:
    """Twelve prices changed in one go are twelve differences, each a row that is not what was sealed."""
    report = await _after(
        kept.world, "UPDATE entries SET price = price || '1' WHERE line = 3 AND revision % 3 = 0"
    )
    async with editing(kept.world) as session:
        wanted = (
            await session.scalars(text("SELECT revision FROM entries WHERE line = 3 AND revision % 3 = 0"))
        ).all()
    assert sorted(wanted) == sorted(found.revision for found in report.differences if found.line == 3)
    assert {(found.of, found.what) for found in report.differences} == {("entry", "changed")}


async def test_what_a_version_is_instead_of_is_held_against_its_document(kept: Kept) -> None:
    """Named past the service beside a document that names nobody: the version is told."""
    report = await _after(kept.world, "UPDATE rulebooks SET instead_of = '2999.1'")
    assert [found.of for found in report.differences] == ["rulebook"] * len(report.differences) != []
    assert any("instead_of is '2999.1'; it is None" in told for told in _told(report))


async def test_a_row_and_a_leaf_are_told_apart(kept: Kept) -> None:
    """The nodes above tell whether the row was changed, or the leaf."""
    row = await _after(kept.world, "UPDATE entries SET price = '9' WHERE revision = 20 AND line = 4")
    assert [(found.of, found.what, found.line) for found in row.differences] == [("entry", "changed", 4)]
    assert "the row is not what was sealed" in _told(row)[0]
    number = row.differences[0].entry
    leaf = await _after(
        kept.world, "UPDATE leaves SET hash = :hash WHERE number = :number", hash=b"x" * 32, number=number
    )
    assert [(found.of, found.what, found.entry) for found in leaf.differences] == [
        ("leaf", "changed", number)
    ]


async def test_swapped_rows_are_told_with_each_other(kept: Kept) -> None:
    """Rows that exchanged their places, or one value, name each other."""
    whole = await _after(
        kept.world,
        "UPDATE entries SET line = 99 WHERE revision = 20 AND line = 4",
        "UPDATE entries SET line = 4 WHERE revision = 20 AND line = 6",
        "UPDATE entries SET line = 6 WHERE revision = 20 AND line = 99",
    )
    async with editing(kept.world) as session:
        told = await session.execute(text("SELECT line, price FROM entries WHERE revision = 20"))
        prices = {row.line: row.price for row in told}
    value = await _after(
        kept.world,
        "UPDATE entries SET price = :sixth WHERE revision = 20 AND line = 4",
        "UPDATE entries SET price = :fourth WHERE revision = 20 AND line = 6",
        fourth=prices[4],
        sixth=prices[6],
    )
    for report in (whole, value):
        assert [found.what for found in report.differences] == ["swapped", "swapped"]
        entries = [found.entry for found in report.differences]
        assert [found.other for found in report.differences] == entries[::-1]


async def test_a_whole_posting_that_vanished_is_named_line_by_line(kept: Kept) -> None:
    """With its prices and its row gone, every entry is told as removed."""
    report = await _after(
        kept.world, "DELETE FROM entries WHERE revision = 20", "DELETE FROM postings WHERE revision = 20"
    )
    assert {(found.of, found.what, found.revision) for found in report.differences} == {
        ("entry", "removed", 20)
    }
    assert [found.line for found in report.differences] == list(range(1, PRICES + 1))


BEFORE = [  # what is moved there, or made there; how it is told
    ("UPDATE entries SET revision = -3 WHERE revision = 20 AND line = 4", ("entry", "added", -3, None)),
    ("UPDATE postings SET revision = 0 WHERE revision = 20", ("posting", "added", 0, None)),
    (
        "INSERT INTO revisions (revision, recorded_at) "
        "SELECT -2, recorded_at FROM revisions WHERE revision = 20",
        ("revision", "added", -2, None),
    ),
    (
        "INSERT INTO leaves (number, hash) SELECT -5, hash FROM leaves WHERE number = 100",
        ("leaf", "added", None, -5),
    ),
]


@pytest.mark.parametrize(("statement", "told"), BEFORE, ids=[told[0] for _, told in BEFORE])
async def test_what_stands_before_the_beginning_is_named(
    kept: Kept, statement: str, told: tuple[str, str, int | None, int | None]
) -> None:
    """Entries, postings, revisions and leaves with numbers below the first are told by them."""
    report = await _after(kept.world, statement)
    assert told in {(found.of, found.what, found.revision, found.entry) for found in report.differences}


async def test_a_history_that_was_rewritten_throughout_is_told_by_the_checkpoint(kept: Kept) -> None:
    """Where rows and every hash were made anew, nothing but a root kept elsewhere can tell."""
    newest = await kept.world.revision()
    async with editing(kept.world) as session:
        await session.execute(text("UPDATE entries SET price = '9' WHERE revision = 20 AND line = 4"))
        for table in ("leaves", "nodes", "trees"):
            await session.execute(text(f"DELETE FROM {table}"))
        await session.execute(text("INSERT INTO trees VALUES (0, 0)"))
        await seal_batch(session, 0, newest)
        alone = await verify_within(session)
        held = await verify_within(session, checkpoint=kept.checkpoint)
    assert alone.sound
    assert [(found.of, found.what) for found in held.differences] == [("checkpoint", "changed")]


async def test_a_shortened_history_is_told_by_the_checkpoint(kept: Kept) -> None:
    """Where the newest revision was taken back with all that belongs to it, a checkpoint is longer."""
    newest = await kept.world.revision()
    tables = ("entries", "words", "postings", "revisions", "trees")
    report = await _after(
        kept.world,
        *(f"DELETE FROM {table} WHERE revision = {newest}" for table in tables),
        f"DELETE FROM leaves WHERE number >= (SELECT size FROM trees WHERE revision = {newest - 1})",
        f"UPDATE ledger SET revision = {newest - 1}, recorded_at = (SELECT recorded_at FROM revisions "
        f"WHERE revision = {newest - 1})",
        checkpoint=kept.checkpoint,
    )
    assert [found.of for found in report.differences] == ["checkpoint"]
    assert "there are only" in _told(report)[0]


async def test_kept_valuations_remember_the_root(kept: Kept) -> None:
    """A root that was answered with a kept valuation is held against the ledger, at whatever size it was."""
    ledger = kept.world.services.ledger
    trees = [await ledger.tree_at(revision) for revision in (3, 17, 30)]
    good = [Witness("valuation", f"v-{tree.revision}", tree.size, tree.root) for tree in trees]
    bad = Witness("valuation", "v-bad", trees[1].size, b"x" * 32)
    report = await verify(kept.world.services.database, witnesses=[*good, bad])
    assert report.witnesses == 4
    assert [(found.of, found.detail.split(":")[0]) for found in report.differences] == [
        ("valuation", "v-bad")
    ]


ODD = [
    "UPDATE entries SET price = x'ff00' WHERE revision = 20 AND line = 4",
    "UPDATE entries SET grade = CAST(x'ff41' AS TEXT) WHERE revision = 20 AND line = 4",
    "UPDATE entries SET observed_on = 'some day' WHERE revision = 20 AND line = 4",
    "UPDATE entries SET line = 'four' WHERE revision = 20 AND line = 4",
    "UPDATE entries SET line = 4.5 WHERE revision = 20 AND line = 4",
    "UPDATE entries SET revision = 'twenty' WHERE revision = 20 AND line = 4",
    "UPDATE postings SET note = x'ff', observed_on = 7 WHERE revision = 20",
    "UPDATE revisions SET recorded_at = 'then' WHERE revision = 20",
    "UPDATE revisions SET revision = 'twenty' WHERE revision = 20",
    "UPDATE trees SET size = 'many' WHERE revision = 20",
    "UPDATE trees SET size = 1e300 WHERE revision = 20",
    "UPDATE trees SET size = 9223372036854775807 WHERE revision = 20",
    "UPDATE trees SET revision = 'twenty' WHERE revision = 20",
    "UPDATE leaves SET hash = 'text' WHERE number = 100",
    "UPDATE leaves SET hash = x'00' WHERE number = 100",
    "UPDATE leaves SET number = 'hundred' WHERE number = 100",
    "UPDATE nodes SET hash = 'text'",
    "UPDATE nodes SET level = 'first'",
    "UPDATE rulebooks SET document = 'not JSON', sha256 = 'x'",
    "UPDATE rulebooks SET document = x'ff'",
    "UPDATE ledger SET revision = 'many'",
    "UPDATE ledger SET recorded_at = 12",
    "DELETE FROM ledger",
    "DELETE FROM revisions",
    "DELETE FROM trees",
    "DELETE FROM leaves",
    "DELETE FROM nodes",
    "DELETE FROM entries",
]


@pytest.mark.parametrize("kept", ["sqlite"], indirect=True)  # PostgreSQL itself refuses such values
async def test_what_no_column_should_hold_is_told_too(kept: Kept) -> None:
    """SQLite keeps anything in any column: whatever stands there, verification goes through and names it."""
    for statement in ODD:
        report = await _after(kept.world, statement)
        assert not report.sound, statement
        assert all(_told(report)), statement
        assert json.dumps([found.told() for found in report.differences])
