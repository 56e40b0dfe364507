"""Kept valuations remember the root of the ledger that they were worked out from: they can bear witness."""

from __future__ import annotations

from gradewright.db.session import Database
from gradewright.ledger.verify import Witness
from gradewright.valuations import repository


async def witnesses(database: Database) -> list[Witness]:
    """Each tree that a kept valuation was answered with, once, by the name of one that tells it."""
    async with database.read() as session:
        trees = await repository.trees(session)
    return [Witness("valuation", valuation, size, root) for size, root, valuation in trees]
