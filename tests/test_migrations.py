"""The migrations build what the models say, and the database itself refuses to change history."""
# ruff: noqa: S608 - statements made of table names that stand in this file

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from alembic import command
from sqlalchemy import Executable, insert, select, text
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.exc import DatabaseError, IntegrityError

from gradewright.accounts.models import AccountRow
from gradewright.benchmarks.models import BenchmarkRow, BenchmarkValueRow
from gradewright.compositions.models import (
    ComponentRow,
    CompositionRow,
    CompositionWithdrawalRow,
    DeviceKindCorrectionRow,
    DeviceKindRow,
)
from gradewright.db import migrate
from gradewright.db.answers import AnswerRow
from gradewright.db.base import Base
from gradewright.db.engines import read_url, sync_engine
from gradewright.db.leaves import LeafRow, NodeRow, TreeRow
from gradewright.db.ledger import RevisionRow, newest_revision, next_revision, revision_at
from gradewright.db.session import Database
from gradewright.drafts.models import DraftRow, StepRow
from gradewright.prices.models import EntryRow, PostingRow, WordRow
from gradewright.regions.models import RegionLabelRow, RegionLimitRow, RegionRefusalRow, RegionRow
from gradewright.rulebooks.models import ComparisonRow, ProofRow, RulebookRow
from gradewright.settlements.models import SettledBinRow, SettlementRow, WithdrawalRow
from gradewright.valuations.models import ValuationRow
from gradewright.yards.models import YardLabelRow, YardLimitRow, YardRefusalRow, YardRow

NOW = datetime(2026, 5, 4, 9, 12, tzinfo=UTC)
DAY = date(2026, 5, 4)
INSTANT = "'2026-05-04T09:12:00.000000Z'"

_OBSERVED = {"yard": "low-quay", "author": "wren", "observed_on": DAY, "evidence": "ticket"}
ROWS: dict[type[Base], dict[str, Any]] = {
    AccountRow: {"handle": "wren", "role": "member", "created_at": NOW},
    RegionRow: {"code": "XO", "name": "Orvale", "currency": "USD", "unit": "lb", "revision": 1},
    YardRow: {
        "slug": "low-quay",
        "name": "Low Quay",
        "region": "XO",
        "currency": "USD",
        "unit": "lb",
        "rounding": "half-even",
        "revision": 1,
    },
    YardLabelRow: {
        "yard": "low-quay",
        "label_folded": "#2 cu",
        "valid_from": DAY,
        "revision": 1,
        "label": "#2 Cu",
        "grade": "copper-no2",
    },
    YardRefusalRow: {"yard": "low-quay", "grade": "boards-low", "valid_from": DAY, "revision": 1},
    YardLimitRow: {"yard": "low-quay", "name": "x", "valid_from": DAY, "revision": 1, "given": "1/8 in"},
    RegionLimitRow: {"region": "XO", "name": "x", "valid_from": DAY, "revision": 1, "given": "1/8 in"},
    RegionLabelRow: {
        "region": "XO",
        "label_folded": "girder",
        "valid_from": DAY,
        "revision": 1,
        "label": "Girder",
        "grade": "steel-heavy",
    },
    RegionRefusalRow: {"region": "XO", "grade": "boards-low", "valid_from": DAY, "revision": 1},
    BenchmarkRow: {
        "slug": "copper",
        "name": "Copper",
        "currency": "USD",
        "unit": "t",
        "source": "x",
        "revision": 1,
    },
    BenchmarkValueRow: {"benchmark": "copper", "day": DAY, "revision": 1, "value": Decimal("9412.50")},
    PostingRow: {"id": "p-1", "revision": 1, **_OBSERVED, "recorded_at": NOW},
    EntryRow: {
        "revision": 1,
        "line": 1,
        "kind": "price",
        "posting": "p-1",
        **_OBSERVED,
        "grade": "copper-no2",
        "price": Decimal("3.350"),
        "currency": "USD",
        "per": "lb",
    },
    WordRow: {
        "revision": 1,
        "line": 1,
        "kind": "decision",
        "posting": "p-1",
        "about": 1,
        "yard": "low-quay",
        "observed_on": DAY,
        "author": "wren",
        "verdict": "accepted",
        "reason": "x",
    },
    RulebookRow: {
        "version": "2018.1",
        "revision": 1,
        "effective_from": DAY,
        "title": "x",
        "summary": "x",
        "document": "{}",
        "sha256": "x",
        "published_at": NOW,
    },
    DeviceKindRow: {"slug": "treadmill", "name": "Treadmill", "revision": 1},
    DeviceKindCorrectionRow: {
        "kind": "treadmill",
        "revision": 1,
        "name": "Treadmill",
        "author": "wren",
        "reason": "x",
    },
    CompositionRow: {
        "id": "c-1",
        "revision": 1,
        "kind": "treadmill",
        "taken_on": DAY,
        "from_memory": False,
        "rulebook": "2018.1",
    },
    ComponentRow: {"composition": "c-1", "line": 1, "revision": 1, "grade": "light-iron", "weight": "1 kg"},
    CompositionWithdrawalRow: {"composition": "c-1", "revision": 1, "author": "wren", "reason": "x"},
    ValuationRow: {
        "id": "v-1",
        "created_at": NOW,
        "request": "{}",
        "rulebook": "2018.1",
        "revision": 1,
        "method": "1",
        "answer": b"{}",
        "sha256": "x",
    },
    AnswerRow: {
        "id": "t-1",
        "created_at": NOW,
        "request": "{}",
        "rulebook": "2018.1",
        "revision": 1,
        "method": "1",
        "answer": b"{}",
        "sha256": "x",
    },
    SettlementRow: {
        "id": "t-1",
        "yard": "low-quay",
        "author": "wren",
        "ticket_on": DAY,
        "ticket": "x",
        "turn": 0,
        "posting": "p-1",
        "settled_at": NOW,
    },
    SettledBinRow: {"settlement": "t-1", "grade": "copper-no2", "share": Decimal("0.25")},
    WithdrawalRow: {"settlement": "t-1", "author": "wren", "reason": "x", "recorded_at": NOW},
    DraftRow: {"number": 1, "from_step": 1},
    StepRow: {
        "draft": 1,
        "number": 1,
        "step": "made",
        "author": "wren",
        "taken_at": NOW,
        "why": "x",
        "sha256": "x",
    },
    ProofRow: {"sha256": "x", "asked": "x", "found": b"x", "made_at": NOW},
    ComparisonRow: {"before": "x", "after": "y", "comparer": "1", "found": b"x", "made_at": NOW},
    LeafRow: {"number": 0, "hash": b"x"},
    NodeRow: {"level": 1, "number": 0, "hash": b"x"},
    TreeRow: {"revision": 1, "size": 1},
}
CHANGES: dict[type[Base], str] = {
    RegionRow: "name = 'y'",
    YardRow: "name = 'y'",
    YardLabelRow: "grade = 'y'",
    YardRefusalRow: "grade = 'y'",
    YardLimitRow: "given = 'y'",
    RegionLimitRow: "given = 'y'",
    RegionLabelRow: "lifted = true",
    RegionRefusalRow: "lifted = true",
    BenchmarkRow: "name = 'y'",
    BenchmarkValueRow: "value = '1'",
    PostingRow: "note = 'y'",
    EntryRow: "price = '9.99'",
    WordRow: "verdict = 'rejected'",
    RulebookRow: "title = 'y'",
    DeviceKindRow: "name = 'y'",
    DeviceKindCorrectionRow: "name = 'y'",
    CompositionRow: "minutes = '1'",
    ComponentRow: "grade = 'y'",
    CompositionWithdrawalRow: "reason = 'y'",
    ValuationRow: "method = '2'",
    AnswerRow: "method = '2'",
    SettlementRow: "posting = NULL",
    SettledBinRow: "share = '0'",
    WithdrawalRow: "reason = 'y'",
    DraftRow: "from_step = 2",
    StepRow: "why = 'y'",
    ProofRow: "found = 'y'",
    ComparisonRow: "found = 'y'",
    LeafRow: "hash = 'y'",
    NodeRow: "hash = 'y'",
    TreeRow: "size = 2",
    RevisionRow: f"recorded_at = {INSTANT}",
}
OTHER_KEY: dict[type[Base], dict[str, Any]] = {
    RegionRow: {"code": "XZ"},
    YardRow: {"slug": "forged"},
    YardLabelRow: {"label_folded": "forged"},
    YardRefusalRow: {"grade": "forged"},
    YardLimitRow: {"name": "forged"},
    RegionLimitRow: {"name": "forged"},
    RegionLabelRow: {"label_folded": "forged"},
    RegionRefusalRow: {"grade": "forged"},
    BenchmarkRow: {"slug": "forged"},
    BenchmarkValueRow: {"day": date(2026, 5, 5)},
    PostingRow: {"id": "p-2", "revision": 2},
    EntryRow: {"line": 2},
    WordRow: {"line": 2},
    RulebookRow: {"version": "2018.2"},
    DeviceKindRow: {"slug": "forged"},
    DeviceKindCorrectionRow: {"revision": 2},
    CompositionRow: {"id": "c-2"},
    ComponentRow: {"line": 2},
    CompositionWithdrawalRow: {"composition": "c-2"},
    ValuationRow: {"id": "v-2"},
    AnswerRow: {"id": "t-2"},
    SettlementRow: {"id": "t-2", "turn": 1},
    SettledBinRow: {"grade": "forged"},
    WithdrawalRow: {"settlement": "t-2"},
    DraftRow: {"number": 2},
    StepRow: {"number": 2},
    ProofRow: {"asked": "forged"},
    ComparisonRow: {"after": "forged"},
    LeafRow: {"number": 1},
    NodeRow: {"number": 1},
    TreeRow: {"revision": 2},
    RevisionRow: {"revision": 2},
}
"""A key that no row has yet, for each table of the history."""
each_table_of_history = pytest.mark.parametrize("row", CHANGES, ids=lambda row: row.__tablename__)


async def _fill(database: Database) -> None:
    async with database.write() as session:
        await next_revision(session, NOW)
        for row, values in ROWS.items():
            await session.execute(insert(row).values(**values))


def _values(row: type[Base]) -> dict[str, Any]:
    return ROWS.get(row, {"revision": 1, "recorded_at": NOW})


def _bare(value: Any) -> Any:
    """A value as SQLite keeps it, for statements that are written out."""
    if isinstance(value, datetime):
        return "2026-05-04T09:12:00.000000Z"
    return value if isinstance(value, str | int | bytes) else str(value)


async def _rows(database: Database, row: type[Base]) -> list[Any]:
    async with database.read() as session:
        return [tuple(found) for found in await session.execute(select(row.__table__))]


async def _refused(database: Database, statement: str | Executable) -> str:
    with pytest.raises(DatabaseError) as refusal:
        async with database.write() as session:
            await session.execute(text(statement) if isinstance(statement, str) else statement)
    return str(refusal.value.orig)


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_models_and_migrations_agree(kind: str, make_url: Callable[..., str]) -> None:
    """A database built by the migrations has exactly the tables, columns and indexes of the models."""
    url = make_url(kind, migrated=False)
    migrate.upgrade(url)
    command.check(migrate.configuration(url))
    assert migrate.present_schema(url) == migrate.newest_schema()


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_drift_is_noticed(kind: str, make_url: Callable[..., str]) -> None:
    """A column that the models do not know fails the comparison."""
    url = make_url(kind)
    engine = sync_engine(read_url(url), writes=True)
    with engine.begin() as connection:
        connection.execute(text("ALTER TABLE regions ADD COLUMN motto TEXT"))
    engine.dispose()
    with pytest.raises(Exception, match="motto"):
        command.check(migrate.configuration(url))


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_an_empty_database_has_no_schema(kind: str, make_url: Callable[..., str]) -> None:
    """Before the first migration the present schema is None, so that `serve` can say what to run."""
    url = make_url(kind, migrated=False)
    if kind == "sqlite":
        Path(url.removeprefix("sqlite:///")).touch()
    assert migrate.present_schema(url) is None


@each_table_of_history
async def test_history_refuses_update(database: Database, row: type[Base]) -> None:
    """UPDATE on a table of the history is refused by the database."""
    await _fill(database)
    said = await _refused(database, f"UPDATE {row.__tablename__} SET {CHANGES[row]}")
    assert "history is only added to" in said


@each_table_of_history
async def test_history_refuses_delete(database: Database, row: type[Base]) -> None:
    """DELETE on a table of the history is refused by the database."""
    await _fill(database)
    said = await _refused(database, f"DELETE FROM {row.__tablename__}")
    assert "history is only added to" in said


@each_table_of_history
async def test_history_refuses_to_be_emptied_or_replaced(database: Database, row: type[Base]) -> None:
    """TRUNCATE (PostgreSQL) and INSERT OR REPLACE (SQLite) cannot slip past the refusal either."""
    await _fill(database)
    if database.embedded:
        said = await _refused(database, insert(row).prefix_with("OR REPLACE").values(**_values(row)))
        assert "there already" in said
    else:
        said = await _refused(database, f"TRUNCATE {row.__tablename__} CASCADE")
        assert "history is only added to" in said


@each_table_of_history
async def test_history_refuses_to_be_replaced_by_position(
    make_url: Callable[..., str], row: type[Base]
) -> None:
    """Another program that opens the SQLite file cannot replace a row by its position in the table either.

    No trigger notices a row that makes way for one with the same position, so there are no positions.
    """
    database = Database(make_url("sqlite"))
    await _fill(database)
    await database.close()
    new = {**_values(row), **OTHER_KEY[row]}
    columns, marks = ", ".join(new), ", ".join(f":{name}" for name in new)
    bare = {name: _bare(value) for name, value in new.items()}
    connection = sqlite3.connect(str(database.url.database), isolation_level=None)
    before = connection.execute(f"SELECT * FROM {row.__tablename__}").fetchall()
    for position in ("rowid", "_rowid_", "oid"):
        statement = f"INSERT OR REPLACE INTO {row.__tablename__} ({position}, {columns}) VALUES (1, {marks})"
        with pytest.raises(sqlite3.Error, match=position):
            connection.execute(statement, bare)
    assert connection.execute(f"SELECT * FROM {row.__tablename__}").fetchall() == before
    connection.close()


@each_table_of_history
async def test_history_refuses_an_insert_that_updates(database: Database, row: type[Base]) -> None:
    """INSERT … ON CONFLICT DO UPDATE is refused too, and the row stays as it was."""
    await _fill(database)
    before = await _rows(database, row)
    dialect: Any = sqlite if database.embedded else postgresql
    values = _values(row)
    keys = [column.name for column in row.__table__.primary_key]
    changed = {name: value for name, value in values.items() if name not in keys} or {keys[0]: "y"}
    upsert = dialect.insert(row).values(**values).on_conflict_do_update(index_elements=keys, set_=changed)
    said = await _refused(database, upsert)
    assert "history is only added to" in said or "there already" in said
    assert await _rows(database, row) == before


@each_table_of_history
async def test_history_refuses_a_merge(make_url: Callable[..., str], row: type[Base]) -> None:
    """PostgreSQL's MERGE neither updates nor deletes history."""
    database = Database(make_url("postgresql"))
    await _fill(database)
    merge = f"MERGE INTO {row.__tablename__} t USING (SELECT 1) s ON true WHEN MATCHED THEN"
    for what in (f"UPDATE SET {CHANGES[row]}", "DELETE"):
        assert "history is only added to" in await _refused(database, f"{merge} {what}")
    await database.close()


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE ledger SET revision = revision + 2",
        "UPDATE ledger SET revision = revision - 1",
        "UPDATE ledger SET revision = revision",
        "UPDATE ledger SET id = 2, revision = revision + 1",
        "UPDATE ledger SET revision = revision + 1, recorded_at = '1969-01-01T00:00:00.000000Z'",
        "DELETE FROM ledger",
        f"INSERT INTO ledger (id, revision, recorded_at) VALUES (1, 7, {INSTANT})",
        f"INSERT INTO revisions (revision, recorded_at) VALUES (2, {INSTANT})",
    ],
)
async def test_the_ledger_only_steps_forward(database: Database, statement: str) -> None:
    """The ledger's row moves by one revision at a time, never back in time, and there is only one."""
    await _fill(database)
    await _refused(database, statement)
    async with database.read() as session:
        assert (await newest_revision(session)).number == 1


async def test_revisions_are_gap_free_over_a_rollback(database: Database) -> None:
    """A write that fails gives its number back: the next write takes it."""
    async with database.write() as session:
        assert (await next_revision(session, NOW)).number == 1
        await session.rollback()
    async with database.write() as session:
        assert (await next_revision(session, NOW)).number == 1
    async with database.read() as session:
        logged = (await session.execute(text("SELECT revision FROM revisions"))).scalars().all()
        assert list(logged) == [1]


async def test_recorded_at_never_goes_back(database: Database) -> None:
    """A clock that was set back does not make a later revision look earlier."""
    async with database.write() as session:
        first = await next_revision(session, NOW)
    async with database.write() as session:
        second = await next_revision(session, NOW - timedelta(hours=1))
    assert second.number == first.number + 1
    assert second.recorded_at == first.recorded_at == NOW


async def test_an_instant_names_the_newest_revision_by_then(database: Database) -> None:
    """`revision_at` gives the last revision recorded at or before the instant, 0 before the first."""
    for minutes in (0, 5, 10):
        async with database.write() as session:
            await next_revision(session, NOW + timedelta(minutes=minutes))
    async with database.read() as session:
        assert await revision_at(session, NOW - timedelta(microseconds=1)) == 0
        assert await revision_at(session, NOW + timedelta(minutes=5)) == 2
        assert await revision_at(session, NOW + timedelta(minutes=9, seconds=59)) == 2
        assert await revision_at(session, NOW + timedelta(days=1)) == 3


async def test_a_foreign_key_is_enforced(database: Database) -> None:
    """A yard in a region that does not exist is refused by the database."""
    await _fill(database)
    with pytest.raises(IntegrityError):
        async with database.write() as session:
            await session.execute(insert(YardRow).values(**{**ROWS[YardRow], "slug": "b", "region": "XX"}))
