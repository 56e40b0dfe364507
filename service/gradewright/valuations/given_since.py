"""How many answers by a version of the rulebook are kept that were given since an instant."""

from __future__ import annotations

from datetime import datetime

from gradewright.db import answers
from gradewright.db.answers import AnswerRow
from gradewright.db.session import Database
from gradewright.valuations.models import ValuationRow


async def given_since(database: Database, rulebook: str, since: datetime) -> int:
    """Valuations and decisions of every kind."""
    async with database.read() as session:
        return sum(
            [await answers.given_since(session, rows, rulebook, since) for rows in (ValuationRow, AnswerRow)]
        )
