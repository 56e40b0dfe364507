"""The database as services see it: a session to read in, a session to write in."""

from __future__ import annotations

import asyncio
import math
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, nullcontext
from contextvars import ContextVar

from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.db.engines import async_engine, is_sqlite, read_url
from gradewright.db.ledger import ONLY_PRICES, TAKEN, Revision, newest_revision
from gradewright.db.readonly import refusing_writes


class Database:
    """One database. Whoever opens a session here, at the edge, is the one who commits it."""

    def __init__(self, url: str, *, pool_size: int = 10, poll_seconds: float = 0.25) -> None:
        """Connects at first use. `url` as in `gradewright.db.engines.read_url`.

        `poll_seconds`: how old this worker's idea of the newest revision may be, as to what others wrote.
        """
        self.url = read_url(url)
        self.embedded = is_sqlite(self.url)
        # Pools of their own: writers that read on the side cannot take each other's last connection.
        writers = 1 if self.embedded else max(2, pool_size // 2)
        self._reading = async_engine(self.url, pool_size=pool_size, writes=False)
        self._writing = async_engine(self.url, pool_size=writers, writes=True)
        # SQLite has one writer at a time: waiting here can be cancelled at once, waiting in its
        # busy handler holds a thread until the timeout.
        self._turn = asyncio.Lock() if self.embedded else None
        self._open: ContextVar[AsyncSession | None] = ContextVar("open_write", default=None)
        self._poll_seconds = poll_seconds
        self._newest: Revision | None = None
        self._only_prices = (0, -1)  # the newest revisions in a row, first and last, of which that is known
        self._asked_at = -math.inf

    @asynccontextmanager
    async def read(self) -> AsyncIterator[AsyncSession]:
        """A session over one transaction that writes nothing, and sees only what is committed.

        Inside a write too: what it has written so far is not there for what the worker keeps in memory.
        """
        async with AsyncSession(self._reading, expire_on_commit=False, autoflush=False) as session:
            yield session

    @asynccontextmanager
    async def write(self) -> AsyncIterator[AsyncSession]:
        """A session over one transaction: committed when the block ends, rolled back when it raises.

        A write inside a write joins it: what is outermost commits, once. Raises `ReadOnlyDatabase` where
        the database takes no writes.
        """
        if (outer := self._open.get()) is not None:
            yield outer
            return
        with refusing_writes():
            async with self._written() as session:
                yield session
        if TAKEN in session.info:
            taken: Revision = session.info[TAKEN]
            if (first := session.info.get(ONLY_PRICES)) is not None:
                begin, end = self._only_prices
                self._only_prices = (begin if end == first - 1 else first, taken.number)
            self._heard(taken)

    @asynccontextmanager
    async def _written(self) -> AsyncIterator[AsyncSession]:
        async with (
            self._turn or nullcontext(),
            AsyncSession(self._writing, expire_on_commit=False) as session,
        ):
            token = self._open.set(session)
            try:
                async with session.begin() as transaction:
                    yield session
                    if not transaction.is_active:  # rolled back inside: nothing was taken
                        session.info.pop(TAKEN, None)
                        session.info.pop(ONLY_PRICES, None)
            finally:
                self._open.reset(token)

    async def newest(self, at_least: int = 0) -> Revision:
        """The newest revision: what this worker wrote at once, what others wrote after `poll_seconds`.

        Where `at_least` is beyond what is known here, the database is asked, however fresh that is.
        """
        now = time.monotonic()
        known = self._newest
        fresh = now - self._asked_at < self._poll_seconds
        if known is not None and known.number >= at_least and fresh:
            return known
        # Whoever comes while the database is being asked goes on with what is known: one asks for all.
        before, self._asked_at = self._asked_at, now
        try:
            async with self.read() as session:
                return self._heard(await newest_revision(session))
        except BaseException:
            self._asked_at = before
            raise

    def brought_only_prices(self, after: int, upto: int) -> bool:
        """Whether this worker has itself written every revision after one, up to another: prices alone."""
        begin, end = self._only_prices
        return begin <= after + 1 and upto <= end

    def _heard(self, revision: Revision) -> Revision:
        """Never goes back: a slower answer may come after a newer one."""
        if self._newest is None or revision.number > self._newest.number:
            self._newest = revision
        return self._newest

    async def close(self) -> None:
        """Gives every connection back."""
        await self._reading.dispose()
        await self._writing.dispose()
