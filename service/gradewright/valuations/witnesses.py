"""Kept valuations and decisions bear witness to the ledger that they were worked out from."""

from __future__ import annotations

from gradewright.answers.witnesses import witnesses_of
from gradewright.db.answers import AnswerRow
from gradewright.db.session import Database
from gradewright.ledger.verify import Witness
from gradewright.valuations.models import ValuationRow


async def witnesses(database: Database) -> list[Witness]:
    """Each tree that a valuation or a decision was kept with, by the name of one that tells it."""
    return await witnesses_of(database, (("valuation", ValuationRow), ("decision", AnswerRow)))
