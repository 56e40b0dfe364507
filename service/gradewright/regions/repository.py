"""Queries of regions."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import insert, select
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.regions.models import RegionRow


async def between(session: AsyncSession, after: int, upto: int) -> Sequence[RegionRow]:
    """The regions made after revision `after`, up to `upto`."""
    found = select(RegionRow).where(RegionRow.revision > after, RegionRow.revision <= upto)
    return (await session.scalars(found)).all()


async def codes_among(session: AsyncSession, codes: Sequence[str]) -> set[str]:
    """Which of the codes exist."""
    return set(await session.scalars(select(RegionRow.code).where(RegionRow.code.in_(codes))))


async def add(session: AsyncSession, row: dict[str, object]) -> None:
    """Adds one region."""
    await session.execute(insert(RegionRow).values(**row))
