"""Sessions: reading only reads, a write inside a write joins it, and the newest revision is known."""

from __future__ import annotations

import asyncio
import math
from collections.abc import AsyncIterator
from datetime import UTC, datetime

import pytest
from sqlalchemy import insert, select
from sqlalchemy.exc import DatabaseError
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.accounts.models import AccountRow
from gradewright.db import session as session_module
from gradewright.db.following import Following
from gradewright.db.ledger import (
    ONLY_PRICES,
    Revision,
    RevisionRow,
    newest_revision,
    next_revision,
    next_revisions,
)
from gradewright.db.session import Database

NOW = datetime(2026, 5, 4, 9, 12, tzinfo=UTC)


@pytest.fixture
async def other(database: Database) -> AsyncIterator[Database]:
    """The same database as another worker has it."""
    opened = Database(database.url.render_as_string(hide_password=False), poll_seconds=3600)
    yield opened
    await opened.close()


async def take(database: Database) -> int:
    """Writes nothing but a revision."""
    async with database.write() as session:
        return (await next_revision(session, NOW)).number


async def add(session: AsyncSession, handle: str) -> None:
    """Writes an account."""
    await session.execute(insert(AccountRow).values(handle=handle, role="member", created_at=NOW))


async def handles(database: Database) -> list[str]:
    """The accounts that are committed."""
    async with database.read() as session:
        return sorted(await session.scalars(select(AccountRow.handle)))


async def test_a_reading_session_cannot_write(database: Database) -> None:
    """Sessions for reading are read-only for the database itself."""
    with pytest.raises(DatabaseError, match=r"read-?only"):
        async with database.read() as session:
            await next_revision(session, NOW)


async def test_a_write_inside_a_write_joins_it(database: Database) -> None:
    """What is written inside is committed with the outermost write, not before."""
    async with database.write() as outer:
        await add(outer, "wren")
        async with database.write() as inner:
            assert inner is outer
            await add(inner, "heron")
        assert await handles(database) == []
    assert await handles(database) == ["heron", "wren"]


async def test_a_failure_inside_undoes_the_whole_write(database: Database) -> None:
    """A failure in the inner write takes the outer one's rows with it."""

    async def fail() -> None:
        async with database.write() as outer:
            await add(outer, "wren")
            async with database.write() as inner:
                await add(inner, "heron")
                raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        await fail()
    assert await handles(database) == []
    assert await take(database) == 1


async def test_two_tasks_do_not_join_each_other(database: Database) -> None:
    """Writes of different tasks are different transactions."""

    async def write(handle: str) -> AsyncSession:
        async with database.write() as session:
            await add(session, handle)
            await asyncio.sleep(0.01)
            return session

    first, second = await asyncio.gather(write("wren"), write("heron"))
    assert first is not second
    assert await handles(database) == ["heron", "wren"]


async def test_its_own_writes_a_worker_knows_at_once(other: Database) -> None:
    """A revision that was committed here is the newest without asking the database again."""
    assert (await other.newest()).number == 0
    assert await take(other) == 1
    assert (await other.newest()).number == 1


async def test_what_is_not_committed_is_not_the_newest(other: Database) -> None:
    """A revision that is taken and given back was never the newest."""
    await other.newest()
    async with other.write() as session:
        assert (await next_revision(session, NOW)).number == 1
        assert (await other.newest()).number == 0
        await session.rollback()
    assert (await other.newest()).number == 0


async def test_others_writes_are_known_after_the_polling_time(database: Database, other: Database) -> None:
    """Within the polling time another worker's write is not seen, unless its revision is asked for."""
    assert (await other.newest()).number == 0
    await take(database)
    assert (await other.newest()).number == 0
    assert (await other.newest(at_least=1)).number == 1
    assert (await other.newest()).number == 1


async def test_a_revision_beyond_all_is_not_waited_for(other: Database) -> None:
    """Asked for a revision that does not exist yet, the newest there is is told."""
    assert (await other.newest(at_least=99)).number == 0


async def test_a_value_follows_the_ledger(database: Database) -> None:
    """A value is loaded when the ledger has moved, once for all that wait, and told what is new."""
    calls: list[tuple[int, int]] = []

    async def load(_: AsyncSession, known: list[int], after: int, upto: int) -> list[int]:
        calls.append((after, upto))
        await asyncio.sleep(0.01)
        return [*known, *range(after + 1, upto + 1)]

    following: Following[list[int]] = Following(database, [], load)
    assert await following.get() == []
    await take(database)
    await take(database)
    assert await asyncio.gather(*(following.get() for _ in range(5))) == [[1, 2]] * 5
    await take(database)
    assert await following.get() == [1, 2, 3]
    assert calls == [(0, 2), (2, 3)]


async def test_many_writers_that_read_on_the_side_do_not_starve(database: Database) -> None:
    """More writers than connections, each reading in the middle of its write, all come to an end."""

    async def write(turn: int) -> None:
        async with database.write() as session:
            await add(session, f"w{turn}")
            await handles(database)
            await next_revision(session, NOW)

    async with asyncio.timeout(30):
        await asyncio.gather(*(write(turn) for turn in range(40)))
    assert len(await handles(database)) == 40


async def test_the_newest_revision_never_goes_back(other: Database, monkeypatch: pytest.MonkeyPatch) -> None:
    """A slow look that comes back after a write of one's own does not make the write unknown again."""
    looked, go_on = asyncio.Event(), asyncio.Event()
    real = session_module.newest_revision

    async def slow(session: AsyncSession) -> Revision:
        found = await real(session)
        looked.set()
        await go_on.wait()
        return found

    monkeypatch.setattr(session_module, "newest_revision", slow)
    looking = asyncio.create_task(other.newest())
    await looked.wait()
    taken = await take(other)
    go_on.set()
    assert (await looking).number == taken
    assert (await other.newest()).number == taken


async def test_a_look_that_failed_is_made_again(other: Database, monkeypatch: pytest.MonkeyPatch) -> None:
    """A failure to read the newest revision leaves no belief that it was just read."""
    await other.newest()
    asked: list[str] = []
    real = session_module.newest_revision

    async def first_broken(session: AsyncSession) -> Revision:
        asked.append("asked")
        if len(asked) == 1:
            raise OSError("the connection is gone")
        return await real(session)

    monkeypatch.setattr(session_module, "newest_revision", first_broken)
    monkeypatch.setattr(other, "_poll_seconds", 3600.0)
    monkeypatch.setattr(other, "_asked_at", -math.inf)
    with pytest.raises(OSError, match="gone"):
        await other.newest()
    await other.newest()
    assert len(asked) == 2


async def test_a_worker_knows_which_of_its_revisions_brought_only_prices(database: Database) -> None:
    """Those in a row up to the newest that was said to; none that others wrote, or that was rolled back."""

    async def write(count: int, *, only_prices: bool, fails: bool = False) -> None:
        async with database.write() as session:
            taken = await next_revisions(session, NOW, count)
            if only_prices:
                session.info[ONLY_PRICES] = taken[0].number
            if fails:
                raise ZeroDivisionError

    assert not database.brought_only_prices(0, 1)
    await write(3, only_prices=True)
    await write(2, only_prices=True)
    assert (database.brought_only_prices(0, 5), database.brought_only_prices(3, 6)) == (True, False)
    await write(1, only_prices=False)
    await write(2, only_prices=True)
    assert not any(database.brought_only_prices(after, 8) for after in range(6))
    assert database.brought_only_prices(6, 8)
    with pytest.raises(ZeroDivisionError):
        await write(2, only_prices=True, fails=True)
    assert not database.brought_only_prices(8, 9)


async def test_several_revisions_are_taken_one_after_the_other(database: Database) -> None:
    """They have no gap, all at the instant of the first, and each is recorded."""
    async with database.write() as session:
        taken = await next_revisions(session, NOW, 3)
    assert [(each.number, each.recorded_at) for each in taken] == [(n, NOW) for n in (1, 2, 3)]
    async with database.read() as session:
        rows = await session.execute(select(RevisionRow.revision, RevisionRow.recorded_at))
        assert sorted(tuple(row) for row in rows) == [(n, NOW) for n in (1, 2, 3)]
        assert (await newest_revision(session)).number == 3
