"""Every entry of the ledger in order, gathered from the concepts that keep them.

The feed, the sealing of an older database and the verification all read here: what is proved is what is told.
"""

from __future__ import annotations

from collections.abc import AsyncIterator, Mapping

from sqlalchemy import select
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.benchmarks.service import BenchmarkService
from gradewright.compositions.service import CompositionService
from gradewright.db.entries import Entry, Line, bare, plain, whole
from gradewright.db.leaves import TreeRow, UnsealedLedger
from gradewright.db.ledger import RevisionRow
from gradewright.prices.postings import PostingService
from gradewright.regions.service import RegionService
from gradewright.rulebooks.service import RulebookService
from gradewright.yards.service import YardService

SOURCES = (
    RulebookService.entries,
    RegionService.entries,
    YardService.entries,
    BenchmarkService.entries,
    CompositionService.entries,
    PostingService.entries,
)
"""Where entries come from. One revision's all come from one of these."""
AT_ONCE = 5_000
"""About how many entries are read together."""


async def lines_between(session: AsyncSession, after: int, upto: int) -> list[Line]:
    """The entries of the revisions after one, up to another, in order."""
    found = [line for source in SOURCES for line in await source(session, after, upto)]
    return sorted(found, key=lambda line: line.revision)


async def recorded_between(session: AsyncSession, after: int, upto: int) -> dict[int, str]:
    """When each revision after one, up to another, was recorded, as entries tell it."""
    rows = await session.execute(
        select(RevisionRow.revision, bare(RevisionRow.recorded_at)).where(
            RevisionRow.revision > after, RevisionRow.revision <= upto
        )
    )
    return {revision: plain(recorded_at) for revision, recorded_at in rows}


async def sizes_between(session: AsyncSession, after: int, upto: int) -> dict[int, int]:
    """The size of the tree at each revision from one on (itself included), up to another.

    A size that is no number, which only a hand can have put there, is none.
    """
    rows = await session.execute(
        select(TreeRow.revision, TreeRow.size).where(TreeRow.revision >= after, TreeRow.revision <= upto)
    )
    return {revision: size for revision, size in rows if type(size) is int}


async def entries_between(session: AsyncSession, after: int, upto: int) -> list[Entry]:
    """The whole entries of the revisions after one, up to another: `number`, `revision`, `line`, `kind`,
    `recorded_at` and the kind's own members. `gradewright.db.entries.canonical` makes their canonical bytes.

    Raises `UnsealedLedger` where the tree does not reach that far.
    """
    sizes = await sizes_between(session, after, upto)
    recorded = await recorded_between(session, after, upto)
    found = []
    revision, number = after, sizes.get(after)
    for line in await lines_between(session, after, upto):
        if line.revision != revision:
            revision, number = line.revision, sizes.get(line.revision - 1)
        if number is None:
            raise UnsealedLedger(
                f"The tree over the ledger does not reach revision {line.revision}. Whoever runs this "
                "service can run: gradewright migrate"
            )
        found.append(whole(number, line, recorded.get(line.revision)))
        number += 1
    return found


async def spans(session: AsyncSession, after: int, upto: int, at_once: int = AT_ONCE) -> AsyncIterator[int]:
    """The revisions at which to stop on the way from one to another, so that what lies between two stops is
    about `at_once` entries, or one revision where that has more."""
    while after < upto:
        ahead = min(upto, after + at_once)
        sizes = await sizes_between(session, after, ahead)
        after = _stop(sizes, after, ahead, at_once)
        yield after


def _stop(sizes: Mapping[int, int], after: int, ahead: int, at_once: int) -> int:
    """The last revision up to which there are no more than so many entries; at least the next one."""
    begin, stop = sizes.get(after), after + 1
    if begin is None:
        return min(ahead, after + max(1, at_once // 10))
    for revision in range(after + 1, ahead + 1):
        size = sizes.get(revision)
        if size is None or size - begin > at_once:
            break
        stop = revision
    return stop
