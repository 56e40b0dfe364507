"""The proofs of the ledger as use cases: checkpoints, and what proves that one leads to another."""

from __future__ import annotations

import asyncio
from dataclasses import dataclass

from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.core.errors import Fault, Refused
from gradewright.db.leaves import UnsealedLedger, size_at
from gradewright.db.session import Database
from gradewright.ledger.keys import Signer, find_signer
from gradewright.ledger.tree import Tree
from gradewright.settings import Settings


@dataclass(frozen=True, slots=True)
class TreeAt:
    """The tree at a revision: how many entries it holds, and its root."""

    revision: int
    size: int
    root: bytes


@dataclass(frozen=True, slots=True)
class Inclusion:
    """What proves that an entry is in a tree."""

    entry: int
    size: int
    leaf: bytes
    root: bytes
    path: list[bytes]


@dataclass(frozen=True, slots=True)
class Consistency:
    """What proves that one tree is the beginning of another."""

    first: int
    size: int
    first_root: bytes
    root: bytes
    path: list[bytes]


class LedgerService:
    """Reads the tree. The key that signs is looked for at the first checkpoint."""

    def __init__(self, database: Database, settings: Settings) -> None:
        self._database = database
        self._settings = settings
        self._tree = Tree()
        self._signer: Signer | None = None
        self._sizes: dict[int, int] = {}

    async def signer(self) -> Signer:
        """The key that signs checkpoints. Raises `NoCheckpointKey`."""
        if self._signer is None:
            self._signer = await asyncio.to_thread(find_signer, self._settings)
            assert self._signer is not None  # noqa: S101 - made where there was none
        return self._signer

    async def checkpoint(self) -> tuple[TreeAt, str]:
        """The newest tree, and its signed checkpoint."""
        signer = await self.signer()
        tree = await self.tree_at((await self._database.newest()).number)
        return tree, signer.sign(tree.size, tree.root)

    async def tree_at(self, revision: int) -> TreeAt:
        """The tree at a revision that is there. Raises `UnsealedLedger`."""
        size = self._sizes.get(revision)
        root = None if size is None else self._tree.known_root(size)
        if size is None or root is None:
            async with self._database.read() as session:
                size = await self._size(session, revision)
                root = await self._tree.root(session, size)
        return TreeAt(revision, size, root)

    async def inclusion(self, entry: int, size: int | None) -> Inclusion:
        """What proves that entry `entry` is in the tree of `size` entries; the newest one where None."""
        async with self._database.read() as session:
            newest = await self._newest_size(session)
            wanted = newest if size is None else _within(size, newest, "size")
            if entry >= wanted:
                detail = (
                    f"The tree of {wanted} entries ends with entry {wanted - 1}: entry {entry} is not in it."
                )
                raise Refused(detail, faults=(Fault(detail, ("entry",)),))
            return Inclusion(
                entry,
                wanted,
                await self._tree.leaf(session, entry, wanted),
                await self._tree.root(session, wanted),
                await self._tree.inclusion(session, entry, wanted),
            )

    async def consistency(self, first: int, size: int | None) -> Consistency:
        """What proves that the tree of `first` entries is the beginning of that of `size` (or the newest)."""
        async with self._database.read() as session:
            newest = await self._newest_size(session)
            wanted = newest if size is None else _within(size, newest, "to")
            if first > wanted:
                detail = (
                    f"A tree of {first} entries is not the beginning of one of {wanted}: write from <= to."
                )
                raise Refused(detail, faults=(Fault(detail, ("from",)),))
            path = await self._tree.consistency(session, first, wanted) if first else []
            roots = [await self._tree.root(session, each) for each in (first, wanted)]
            return Consistency(first, wanted, roots[0], roots[1], path)

    async def _newest_size(self, session: AsyncSession) -> int:
        return await self._size(session, (await self._database.newest()).number)

    async def _size(self, session: AsyncSession, revision: int) -> int:
        size = self._sizes.get(revision)
        if size is None:
            size = await size_at(session, revision)
            if size is None:
                raise UnsealedLedger(
                    f"The tree over the ledger does not reach revision {revision}. Whoever runs this service "
                    "can run: gradewright migrate"
                )
            if len(self._sizes) > 10_000:
                self._sizes.clear()
            self._sizes[revision] = size
        return size


def _within(size: int, newest: int, parameter: str) -> int:
    if size <= newest:
        return size
    detail = f"There is no tree of {size} entries yet: the ledger has {newest}."
    raise Refused(detail, faults=(Fault(detail, (parameter,)),))
