"""Regions as entries of the ledger."""

from __future__ import annotations

from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.db.entries import Form, Line, in_order
from gradewright.regions.models import RegionRow

REGION = Form("region", RegionRow, ("code", "name", "parent", "currency", "unit"))


async def between(session: AsyncSession, after: int, upto: int) -> list[Line]:
    """The regions made after revision `after`, up to `upto`."""
    rows = await REGION.read(session, after, upto)
    return in_order((revision, 0, values[:1], REGION.entry(values)) for revision, *values in rows)
