"""Queries of regions and their house rules."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypeVar

from sqlalchemy import insert, select
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.db.house import Rows
from gradewright.regions.models import RegionLabelRow, RegionLimitRow, RegionRefusalRow, RegionRow

R = TypeVar("R", RegionRow, RegionLimitRow, RegionLabelRow, RegionRefusalRow)
RULES = {"limit": RegionLimitRow, "label": RegionLabelRow, "refusal": RegionRefusalRow}


async def between(session: AsyncSession, row: type[R], after: int, upto: int) -> Sequence[R]:
    """The rows of one kind made after revision `after`, up to `upto`, in the order of the ledger."""
    found = select(row).where(row.revision > after, row.revision <= upto).order_by(row.revision)
    return (await session.scalars(found)).all()


async def codes_among(session: AsyncSession, codes: Sequence[str]) -> set[str]:
    """Which of the codes exist."""
    return set(await session.scalars(select(RegionRow.code).where(RegionRow.code.in_(codes))))


async def rules_between(session: AsyncSession, after: int, upto: int) -> tuple[Sequence[Any], ...]:
    """What was said after revision `after`, up to `upto`: of limits, of labels, of refusals."""
    return (
        await between(session, RegionLimitRow, after, upto),
        await between(session, RegionLabelRow, after, upto),
        await between(session, RegionRefusalRow, after, upto),
    )


async def add(session: AsyncSession, row: dict[str, object]) -> None:
    """Adds one region."""
    await session.execute(insert(RegionRow).values(**row))


async def add_rules(session: AsyncSession, rows: Rows) -> None:
    """Adds to the house rules of a region."""
    for kind, values in rows.items():
        if values:
            await session.execute(insert(RULES[kind]), values)
