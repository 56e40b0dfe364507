"""The tree over the ledger: every entry is a leaf, and every revision a tree that holds the last one.

Hashed as RFC 6962 says (`gradewright.core.merkle`). Kept are the leaves' hashes, those of complete subtrees
of 256, 256² and 256³ leaves, and the size of the tree at each revision: so a root or a proof reads a few
short ranges, however large the ledger has grown.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import count
from typing import cast

from sqlalchemy import Table, bindparam, insert, select
from sqlalchemy.ext.asyncio import AsyncSession
from sqlalchemy.orm import Mapped, mapped_column

from gradewright.core.errors import GradewrightError
from gradewright.core.merkle import root_of
from gradewright.db.base import Base
from gradewright.db.entries import Entry, Line, hash_of, plain
from gradewright.db.ledger import Revision

BLOCK = 256
"""How many hashes of one level a kept node stands for."""
LEVELS = 3


class LeafRow(Base):
    """The hash of one entry; numbers begin at 0 and have no gap."""

    __tablename__ = "leaves"

    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    hash: Mapped[bytes]


class NodeRow(Base):
    """The root of the complete subtree over 256**level leaves, the first of which is 256**level * number."""

    __tablename__ = "nodes"

    level: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    hash: Mapped[bytes]


class TreeRow(Base):
    """How many leaves the tree has at a revision; revision 0 has none."""

    __tablename__ = "trees"

    revision: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    size: Mapped[int]


class UnsealedLedger(GradewrightError):
    """The tree does not reach up to the ledger's end: made by a version that had none, or tampered with."""

    slug = "unavailable"


_LEAVES = cast("Table", LeafRow.__table__)
_NODES = cast("Table", NodeRow.__table__)
_TREES = cast("Table", TreeRow.__table__)
_ADD_LEAVES = insert(_LEAVES)
_ADD_NODES = insert(_NODES)
_ADD_TREES = insert(_TREES)
# One statement looks where the tree ends and adds the next: without the one before, nothing is added.
_GROW = (
    insert(_TREES)
    .from_select(
        ["revision", "size"],
        select(_TREES.c.revision + 1, _TREES.c.size + bindparam("more", type_=_TREES.c.size.type)).where(
            _TREES.c.revision == bindparam("before", type_=_TREES.c.revision.type)
        ),
    )
    .returning(_TREES.c.size)
)


async def seal(session: AsyncSession, taken: Revision, entries: Sequence[Entry]) -> int:
    """Adds the entries of the write that has `taken` a revision to the tree, in order; gives its size.

    To be called once in every write, in its transaction. Raises `UnsealedLedger` where the tree does not end
    at the revision before.
    """
    return await seal_all(session, [(taken, entries)])


async def seal_all(session: AsyncSession, written: Sequence[tuple[Revision, Sequence[Entry]]]) -> int:
    """The same of a write that has taken several revisions, one after the other."""
    (taken, entries), more = written[0], written[1:]
    grown = await session.execute(_GROW, {"before": taken.number - 1, "more": len(entries)})
    size: int | None = grown.scalar_one_or_none()
    if size is None:
        raise UnsealedLedger(
            f"The tree over the ledger ends before revision {taken.number - 1}, so nothing can be added. "
            "Nothing was stored. Whoever runs this service can run: gradewright migrate"
        )
    first = size - len(entries)
    if more:
        trees = []
        for later, brought in more:
            size += len(brought)
            trees.append({"revision": later.number, "size": size})
        await session.execute(_ADD_TREES, trees)
    number = count(first)
    hashes = [
        hash_of(next(number), Line(each.number, line, entry), recorded_at)
        for each, brought in written
        for recorded_at in (plain(each.recorded_at),)
        for line, entry in enumerate(brought, start=1)
    ]
    await add_leaves(session, first, hashes)
    return size


async def add_leaves(session: AsyncSession, first: int, hashes: Sequence[bytes]) -> None:
    """Adds leaves from number `first` on, and the nodes over the subtrees that they complete."""
    if not hashes:
        return
    rows = [{"number": number, "hash": hashed} for number, hashed in enumerate(hashes, start=first)]
    await session.execute(_ADD_LEAVES, rows)
    size = first + len(hashes)
    for level in range(1, LEVELS + 1):
        width = BLOCK**level
        done, whole = first // width, size // width
        if done == whole:
            return
        below = await read_hashes(session, level - 1, done * BLOCK, whole * BLOCK)
        nodes = [
            {"level": level, "number": done + place, "hash": root_of(below[place * BLOCK :][:BLOCK])}
            for place in range(whole - done)
        ]
        await session.execute(_ADD_NODES, nodes)


async def read_hashes(session: AsyncSession, level: int, start: int, end: int) -> list[bytes]:
    """The hashes of leaves (level 0) or kept nodes, by number. Raises `UnsealedLedger` if one is missing."""
    if level == 0:
        query = select(_LEAVES.c.hash).where(_LEAVES.c.number >= start, _LEAVES.c.number < end)
        rows = await session.scalars(query.order_by(_LEAVES.c.number))
    else:
        query = select(_NODES.c.hash).where(
            _NODES.c.level == level, _NODES.c.number >= start, _NODES.c.number < end
        )
        rows = await session.scalars(query.order_by(_NODES.c.number))
    found = list(rows.all())
    if len(found) != end - start:
        raise UnsealedLedger(
            f"The tree over the ledger has lost hashes: of {end - start} at level {level} from {start} on, "
            f"{len(found)} are there. Whoever runs this service can look with: gradewright verify"
        )
    return found


async def size_at(session: AsyncSession, revision: int) -> int | None:
    """How many leaves the tree has at a revision; None where it does not reach there."""
    size: int | None = await session.scalar(select(_TREES.c.size).where(_TREES.c.revision == revision))
    return size
