"""Kept answers remember the root of the ledger that they were worked out from: they can bear witness."""

from __future__ import annotations

from collections.abc import Iterable

from gradewright.db.answers import KeptAnswer, trees
from gradewright.db.session import Database
from gradewright.ledger.verify import Witness


async def witnesses_of(database: Database, tables: Iterable[tuple[str, type[KeptAnswer]]]) -> list[Witness]:
    """Each tree that an answer was kept with, once for each table, by the name of one that tells it."""
    found = []
    async with database.read() as session:
        for noun, rows in tables:
            kept = await trees(session, rows)
            found += [Witness(noun, answer, size, root) for size, root, answer in kept]
    return found
