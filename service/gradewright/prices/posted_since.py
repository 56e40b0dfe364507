"""How many postings of prices were seen, or made, in a span of days."""

from __future__ import annotations

from datetime import date

from gradewright.db.session import Database
from gradewright.prices import repository


async def posted_since(database: Database, first: date, until: date | None) -> int:
    """From a day on, before the day `until`; withdrawn ones too, as lists have counted them meanwhile."""
    async with database.read() as session:
        return await repository.posted_between(session, first, until)
