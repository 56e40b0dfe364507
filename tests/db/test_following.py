"""What follows the ledger in memory: never twice, never backwards."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from typing import Any, cast

import pytest

from gradewright.db import following
from gradewright.db.following import Following
from gradewright.db.ledger import Revision
from gradewright.db.session import Database

NOW = datetime(2026, 5, 4, tzinfo=UTC)


class Moving:
    """A database of which a worker knows less than is there; revisions 9 and 10 are its own, of prices."""

    def __init__(self) -> None:
        self.known, self.there = 10, 12

    async def newest(self) -> Revision:
        return Revision(self.known, NOW)

    @staticmethod
    def brought_only_prices(after: int, upto: int) -> bool:
        return after + 1 >= 9 and upto <= 10

    @asynccontextmanager
    async def read(self) -> AsyncIterator[Moving]:
        yield self


async def test_a_value_never_goes_back(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two look at once, and the second one, with an older newest revision, finds more than it knows of: what
    the first has loaded is not loaded again."""
    database = Moving()

    async def newest_revision(session: Any) -> Revision:
        await asyncio.sleep(0.01)
        return Revision(database.there, NOW)

    async def load(session: Any, known: list[int], after: int, upto: int) -> list[int]:
        return [*known, *range(after + 1, upto + 1)]

    monkeypatch.setattr(following, "newest_revision", newest_revision)
    value = Following(cast("Database", database), [], load)
    await asyncio.gather(value.get(), value.get())
    database.known = 12
    assert await value.get() == list(range(1, 13))
