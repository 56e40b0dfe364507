"""Values kept in the worker that follow the ledger: loaded once, brought up to date when it moved."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from typing import Generic, TypeVar

from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.db.ledger import newest_revision
from gradewright.db.session import Database

V = TypeVar("V")


class Following(Generic[V]):
    """Hands out a value; reads the database only when the ledger has moved since the last look.

    Not a value made of prices: those of this worker's own do not count as a move.
    """

    def __init__(
        self,
        database: Database,
        start: V,
        load: Callable[[AsyncSession, V, int, int], Awaitable[V]],
    ) -> None:
        """`load(session, known, after, upto)` adds to `known` what the revisions in between have brought,
        and gives `known` itself where they have brought nothing."""
        self._database = database
        self._load = load
        self._known = start
        self._upto = 0
        self._turn = asyncio.Lock()

    async def get(self) -> V:
        """The value, complete up to the newest revision that the worker knows."""
        newest = (await self._database.newest()).number
        if self._upto < newest:
            async with self._turn:
                if self._upto >= newest:  # whoever had the turn before has looked further already
                    return self._known
                if self._database.brought_only_prices(self._upto, newest):
                    self._upto = newest
                else:
                    await self._catch_up()
        return self._known

    async def _catch_up(self) -> None:
        async with self._database.read() as session:
            upto = (await newest_revision(session)).number
            self._known = await self._load(session, self._known, self._upto, upto)
        self._upto = upto
