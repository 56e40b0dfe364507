"""Kept valuations and decisions bear witness to the ledger, and are held against their own SHA-256."""

from __future__ import annotations

from collections.abc import Callable

from gradewright.answers.kept_bytes import hold
from gradewright.answers.witnesses import witnesses_of
from gradewright.db.answers import AnswerRow
from gradewright.db.session import Database
from gradewright.ledger.verify import Report, Witness
from gradewright.valuations.models import ValuationRow

TABLES = (("valuation", ValuationRow), ("decision", AnswerRow))


async def witnesses(database: Database) -> list[Witness]:
    """Each tree that a valuation or a decision was kept with, by the name of one that tells it."""
    return await witnesses_of(database, TABLES)


async def hold_answers(
    database: Database, report: Report, tell: Callable[[int, int], None] = lambda done, of: None
) -> None:
    """Says in the report which of them are not the bytes that were kept. `tell(done, of)` as it goes on."""
    await hold(database, TABLES, report, tell)
