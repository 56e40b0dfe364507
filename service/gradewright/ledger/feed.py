"""The ledger page by page, each entry as the canonical bytes whose hash is its leaf."""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from gradewright.core.errors import Fault, Refused
from gradewright.db.entries import canonical
from gradewright.db.leaves import UnsealedLedger
from gradewright.db.session import Database
from gradewright.ledger.entries import entries_between, recorded_between, sizes_between

CUT_KEPT = 2
"""How many revisions larger than a page are kept, so that each of its pages does not read it again."""


class Position(NamedTuple):
    """A place between two entries: after a whole revision (`line` 0), or after one of its lines."""

    revision: int
    line: int = 0

    def __str__(self) -> str:
        return f"{self.revision}.{self.line}" if self.line else str(self.revision)


@dataclass(frozen=True, slots=True)
class Page:
    """Entries in order. `upto`: where the page ends; `newest`: the newest revision when it was read."""

    entries: Sequence[bytes]
    upto: Position
    newest: int

    @property
    def next(self) -> Position | None:
        """Where the next page begins; None where there is nothing more yet."""
        return self.upto if self.upto.line or self.upto.revision < self.newest else None


@dataclass(frozen=True, slots=True)
class Recorded:
    """A revision, when it was recorded (as entries tell it), and how many entries it brought."""

    revision: int
    recorded_at: str
    entries: int


class Feed:
    """Reads the ledger forwards. Holds no connection between two pages."""

    def __init__(self, database: Database) -> None:
        self._database = database
        self._cut: OrderedDict[int, list[bytes]] = OrderedDict()
        self._turn = asyncio.Lock()

    async def newest(self, at_least: int = 0) -> int:
        """The newest revision, as this worker knows it."""
        return (await self._database.newest(at_least)).number

    async def begin(self, revision: int | None, at: str = "after") -> int:
        """The revision after which a follower goes on; the newest where None. Raises `Refused` for one that
        the ledger has not reached: what was followed was another ledger."""
        newest = await self.newest(revision or 0)
        if revision is not None and revision > newest:
            raise _refused(
                f"The ledger has not reached revision {revision}; the newest is {newest}. If it was there "
                "once, this is another ledger, or an older copy of it.",
                at,
            )
        return newest if revision is None else revision

    async def page(self, after: Position, limit: int) -> Page:
        """At most `limit` entries after a position.

        A page ends with a whole revision; inside one only where that one has more entries than `limit`.
        """
        await self.begin(after.revision)
        newest = await self.newest()
        async with self._database.read() as session:
            first = after.revision - 1 if after.line else after.revision
            sizes = await sizes_between(session, first, min(newest, after.revision + limit))
            if after.line:
                more = _entries_of(sizes, after.revision) - after.line
                if more < 0:
                    has = more + after.line
                    raise _refused(f"Revision {after.revision} has {has} entries, not {after.line}.", "after")
                if more == 0:
                    after, first = Position(after.revision), after.revision
            stop = _last_whole(sizes, after, limit)
            if stop > first:
                found = await entries_between(session, first, stop)
                return Page([canonical(entry) for entry in found[after.line :]], Position(stop), newest)
        if first == newest:
            return Page((), Position(first), newest)
        return await self._inside(Position(first + 1, after.line), limit, newest)

    async def _inside(self, after: Position, limit: int, newest: int) -> Page:
        """A page of one revision that has more entries than fit."""
        lines = await self._whole(after.revision)
        end = after.line + limit
        upto = Position(after.revision, end if end < len(lines) else 0)
        return Page(lines[after.line : end], upto, newest)

    async def _whole(self, revision: int) -> list[bytes]:
        """All of a large revision; it never changes, so the last ones are kept for the pages to come."""
        async with self._turn:
            if revision not in self._cut:
                async with self._database.read() as session:
                    found = await entries_between(session, revision - 1, revision)
                self._cut[revision] = [canonical(entry) for entry in found]
                while len(self._cut) > CUT_KEPT:
                    self._cut.popitem(last=False)
            self._cut.move_to_end(revision)
            return self._cut[revision]

    async def recorded(self, after: int, upto: int) -> list[Recorded]:
        """The revisions after one, up to another, in order."""
        async with self._database.read() as session:
            sizes = await sizes_between(session, after, upto)
            told = await recorded_between(session, after, upto)
        return [
            Recorded(revision, told[revision], _entries_of(sizes, revision))
            for revision in range(after + 1, upto + 1)
        ]


def _last_whole(sizes: Mapping[int, int], after: Position, limit: int) -> int:
    """The last revision that a page can end with; the one before the first where that one is too large."""
    stop = after.revision - 1 if after.line else after.revision
    begin = _size(sizes, stop) + after.line
    while stop + 1 in sizes and sizes[stop + 1] - begin <= limit:
        stop += 1
    return stop


def _entries_of(sizes: Mapping[int, int], revision: int) -> int:
    return _size(sizes, revision) - _size(sizes, revision - 1)


def _size(sizes: Mapping[int, int], revision: int) -> int:
    if revision not in sizes:
        raise UnsealedLedger(
            f"The tree over the ledger does not reach revision {revision}. Whoever runs this service can "
            "run: gradewright migrate"
        )
    return sizes[revision]


def _refused(detail: str, at: str) -> Refused:
    return Refused(detail, faults=(Fault(detail, (at,)),))
