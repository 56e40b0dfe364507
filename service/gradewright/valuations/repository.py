"""Queries on kept valuations."""

from __future__ import annotations

from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.valuations.models import ValuationRow


async def add(session: AsyncSession, row: ValuationRow) -> None:
    """Keep a valuation; it can never be changed afterwards."""
    session.add(row)
    await session.flush()


async def find(session: AsyncSession, valuation: str) -> ValuationRow | None:
    """A kept valuation by its id."""
    return await session.get(ValuationRow, valuation)
