"""Storage loses nothing, and writers wait for each other in order."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal

import pytest
from sqlalchemy import insert, select, text
from sqlalchemy.exc import StatementError

from gradewright.accounts.models import AccountRow
from gradewright.db.engines import DatabaseUrlError, read_url
from gradewright.db.ledger import RevisionRow, next_revision
from gradewright.db.session import Database
from gradewright.regions.models import RegionRow
from gradewright.yards.models import YardRow

NOW = datetime(2026, 5, 4, 9, 12, 30, 123456, tzinfo=UTC)


async def test_an_instant_comes_back_aware_and_equal(database: Database) -> None:
    """An instant given in another zone comes back as the same instant, in UTC, to the microsecond."""
    given = NOW.astimezone(timezone(timedelta(hours=-3, minutes=-30)))
    async with database.write() as session:
        await session.execute(insert(AccountRow).values(handle="wren", role="member", created_at=given))
    async with database.read() as session:
        found = (await session.scalars(select(AccountRow.created_at))).one()
    assert found == given
    assert found.utcoffset() == timedelta(0)


async def test_a_naive_instant_is_refused(database: Database) -> None:
    """An instant without a zone does not reach the database."""
    naive = NOW.replace(tzinfo=None)
    with pytest.raises(StatementError, match="no time zone"):
        async with database.write() as session:
            await session.execute(insert(AccountRow).values(handle="wren", role="member", created_at=naive))


@pytest.mark.parametrize("digits", ["0.050", "12345678901234567890.0000000001", "1E-10", "-0.10"])
async def test_a_decimal_comes_back_digit_for_digit(database: Database, digits: str) -> None:
    """A decimal keeps every digit and its trailing zeros, beyond what a float could hold."""
    async with database.write() as session:
        number = (await next_revision(session, NOW)).number
        region = {"code": "XO", "name": "Orvale", "currency": "USD", "unit": "lb", "revision": number}
        await session.execute(insert(RegionRow).values(**region))
        await session.execute(
            insert(YardRow).values(
                slug="low-quay",
                name="Low Quay",
                region="XO",
                currency="USD",
                unit="lb",
                rounding="half-even",
                cash_increment=Decimal(digits),
                revision=number,
            )
        )
    async with database.read() as session:
        found = (await session.scalars(select(YardRow.cash_increment))).one()
    assert found is not None
    assert found.as_tuple() == Decimal(digits).as_tuple()


@pytest.mark.parametrize("value", [0.05, Decimal("NaN"), Decimal("Infinity"), "0.05", 5])
async def test_only_finite_decimals_are_stored(database: Database, value: object) -> None:
    """Floats, text, integers and what is not a number are refused where an exact decimal belongs."""
    with pytest.raises(StatementError, match="not a finite Decimal"):
        async with database.write() as session:
            await session.execute(insert(YardRow).values(slug="low-quay", cash_increment=value))


async def test_forty_writers_at_once_leave_no_gap(database: Database) -> None:
    """Writers side by side, some of which give up, take the revisions 1, 2, 3 … without a gap."""

    async def write(turn: int) -> None:
        async with database.write() as session:
            await next_revision(session, NOW + timedelta(seconds=turn))
            await asyncio.sleep(0.001)
            if turn % 4 == 0:
                await session.rollback()

    await asyncio.gather(*(write(turn) for turn in range(40)))
    async with database.read() as session:
        rows = (await session.execute(select(RevisionRow).order_by(RevisionRow.revision))).scalars().all()
    assert [row.revision for row in rows] == list(range(1, 31))
    assert [row.recorded_at for row in rows] == sorted(row.recorded_at for row in rows)


async def test_a_cancelled_writer_frees_its_turn(database: Database) -> None:
    """A writer that is cancelled in the middle neither blocks the next one nor leaves a revision."""
    started = asyncio.Event()

    async def hang() -> None:
        async with database.write() as session:
            await next_revision(session, NOW)
            started.set()
            await asyncio.sleep(60)

    task = asyncio.create_task(hang())
    await started.wait()
    task.cancel()
    with pytest.raises(asyncio.CancelledError):
        await task
    async with asyncio.timeout(5), database.write() as session:
        assert (await next_revision(session, NOW)).number == 1


async def test_sqlite_is_told_to_be_careful(make_url: Callable[[str], str]) -> None:
    """Every SQLite connection has write-ahead logging, full sync, foreign keys and no trusted schema."""
    database = Database(make_url("sqlite"))
    wanted = {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "trusted_schema": 0}
    async with database.read() as session:
        found = {name: await session.scalar(text(f"PRAGMA {name}")) for name in wanted}
    await database.close()
    assert found == wanted


@pytest.mark.parametrize("url", ["sqlite://", "sqlite:///:memory:", "mysql://x/y", "nonsense", ""])
def test_an_unusable_url_says_what_to_write(url: str) -> None:
    """A database URL of another kind, or of memory, is refused with the two forms that work."""
    with pytest.raises(DatabaseUrlError, match="sqlite:///FILE or postgresql://"):
        read_url(url)
