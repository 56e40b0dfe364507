"""The database as services see it: a session to read in, a session to write in."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, nullcontext

from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.db.engines import IMMEDIATE, async_engine, is_sqlite, read_url


class Database:
    """One database. Whoever opens a session here, at the edge, is the one who commits it."""

    def __init__(self, url: str, *, pool_size: int = 10) -> None:
        """Connects at first use. `url` as in `gradewright.db.engines.read_url`."""
        self.url = read_url(url)
        self.engine = async_engine(self.url, pool_size=pool_size)
        self.embedded = is_sqlite(self.url)
        if self.embedded:
            self._reading = self.engine
            self._writing = self.engine.execution_options(**{IMMEDIATE: True})
        else:
            self._reading = self.engine.execution_options(postgresql_readonly=True)
            self._writing = self.engine
        # SQLite has one writer at a time: waiting here can be cancelled at once, waiting in its
        # busy handler holds a thread until the timeout.
        self._turn = asyncio.Lock() if self.embedded else None

    @asynccontextmanager
    async def read(self) -> AsyncIterator[AsyncSession]:
        """A session over one transaction that writes nothing."""
        async with AsyncSession(self._reading, expire_on_commit=False, autoflush=False) as session:
            yield session

    @asynccontextmanager
    async def write(self) -> AsyncIterator[AsyncSession]:
        """A session over one transaction: committed when the block ends, rolled back when it raises."""
        async with (
            self._turn or nullcontext(),
            AsyncSession(self._writing, expire_on_commit=False) as session,
            session.begin(),
        ):
            yield session

    async def close(self) -> None:
        """Gives every connection back."""
        await self.engine.dispose()
