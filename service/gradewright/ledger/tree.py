"""Roots and proofs of the tree over the ledger, from the hashes that are kept, at any size it has had."""

from __future__ import annotations

from collections import OrderedDict
from typing import TypeVar

from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.core.merkle import Growing, Range, consistency_ranges, inclusion_ranges
from gradewright.db.leaves import BLOCK, LEVELS, read_hashes

K = TypeVar("K")
V = TypeVar("V")
ROOTS_KEPT = 10_000
BLOCKS_KEPT = 200  # of 256 hashes: 20 KiB each


class Tree:
    """Works out roots and proofs. What was worked out once stays true for ever, and is kept for a while."""

    def __init__(self) -> None:
        self._roots: OrderedDict[int, bytes] = OrderedDict()
        self._blocks: OrderedDict[tuple[int, int, int], list[bytes]] = OrderedDict()

    def known_root(self, size: int) -> bytes | None:
        """The root at a size, where it is known without reading."""
        return self._roots.get(size)

    async def root(self, session: AsyncSession, size: int) -> bytes:
        """The root of the tree of the first `size` leaves."""
        found = self._roots.get(size)
        if found is None:
            found = await self._over(session, (0, size), size)
            _keep(self._roots, size, found, ROOTS_KEPT)
        return found

    async def inclusion(self, session: AsyncSession, number: int, size: int) -> list[bytes]:
        """The proof that leaf `number` is in the tree of `size` leaves."""
        return [await self._over(session, each, size) for each in inclusion_ranges(number, size)]

    async def consistency(self, session: AsyncSession, first: int, size: int) -> list[bytes]:
        """The proof that the tree of `first` leaves is the beginning of the tree of `size` leaves."""
        return [await self._over(session, each, size) for each in consistency_ranges(first, size)]

    async def leaf(self, session: AsyncSession, number: int, size: int) -> bytes:
        """The hash of a leaf of the tree of `size` leaves."""
        return (await self._hashes(session, 0, number, number + 1, size))[0]

    async def _over(self, session: AsyncSession, leaves: Range, size: int) -> bytes:
        """The root over a range that begins where a complete subtree as large as its own would.

        The largest kept nodes that lie in it first, then smaller ones, then leaves: at most 256 of each.
        """
        start, end = leaves
        tree = Growing()
        for level in range(LEVELS, -1, -1):
            width = BLOCK**level
            begin = -(-start // width)
            if start == begin * width and end // width > begin:
                tree.add(await self._hashes(session, level, begin, end // width, size), of=width)
                start = end // width * width
        return tree.root()

    async def _hashes(
        self, session: AsyncSession, level: int, start: int, end: int, size: int
    ) -> list[bytes]:
        """Hashes of one level. What a tree of `size` has of a block of 256 never changes: it is kept."""
        block = start // BLOCK
        first, last = block * BLOCK, min((block + 1) * BLOCK, size // BLOCK**level)
        if end > last:  # several blocks: only of the highest level, beyond 256**4 leaves
            return await read_hashes(session, level, start, end)
        found = self._blocks.get((level, first, last))
        if found is None:
            found = await read_hashes(session, level, first, last)
            _keep(self._blocks, (level, first, last), found, BLOCKS_KEPT)
        return found[start - first : end - first]


def _keep(kept: OrderedDict[K, V], key: K, value: V, most: int) -> None:
    kept[key] = value
    while len(kept) > most:
        kept.popitem(last=False)
