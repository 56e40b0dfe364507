"""Sealing what was written before there was a tree: in order, in batches, and going on where it stopped."""

from __future__ import annotations

from collections.abc import Callable

from sqlalchemy import func, insert, select
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.db.entries import hash_of
from gradewright.db.leaves import TreeRow, add_leaves, size_at
from gradewright.db.ledger import LedgerRow
from gradewright.db.session import Database
from gradewright.ledger.entries import lines_between, recorded_between

REVISIONS_AT_ONCE = 1_000


async def seal_missing(
    database: Database, tell: Callable[[int, int], None], at_once: int = REVISIONS_AT_ONCE
) -> int:
    """Seals every revision that is not sealed yet; gives how many entries that were.

    Each batch is a transaction of its own, so that it can be stopped and run again. `tell(done, newest)` is
    called after each.
    """
    sealed = 0
    while True:
        async with database.write() as session:
            newest, last = await _ends(session)
            if last >= newest:
                return sealed
            upto = min(newest, last + at_once)
            sealed += await seal_batch(session, last, upto)
        tell(upto, newest)


async def _ends(session: AsyncSession) -> tuple[int, int]:
    """The newest revision, and the last one that is sealed; writers wait from here on."""
    newest = await session.scalar(select(LedgerRow.revision).with_for_update())
    last = await session.scalar(select(func.max(TreeRow.revision)))
    return newest or 0, last or 0


async def seal_batch(session: AsyncSession, after: int, upto: int) -> int:
    """Seals the revisions after one that is sealed, up to another; gives how many entries that were."""
    first = await size_at(session, after) or 0
    lines = await lines_between(session, after, upto)
    recorded = await recorded_between(session, after, upto)
    hashes = [hash_of(number, line, recorded.get(line.revision)) for number, line in enumerate(lines, first)]
    await add_leaves(session, first, hashes)
    brought: dict[int, int] = {}
    for line in lines:
        brought[line.revision] = brought.get(line.revision, 0) + 1
    size, trees = first, []
    for revision in range(after + 1, upto + 1):
        size += brought.get(revision, 0)
        trees.append({"revision": revision, "size": size})
    await session.execute(insert(TreeRow.__table__), trees)  # type: ignore[arg-type]
    return len(lines)
