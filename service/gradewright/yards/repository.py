"""Queries of yards and their house rules."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypeVar

from sqlalchemy import exists, insert, select
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.db.house import Rows
from gradewright.yards.models import YardLabelRow, YardLimitRow, YardRefusalRow, YardRow

R = TypeVar("R", YardRow, YardLimitRow, YardLabelRow, YardRefusalRow)
RULES = {"limit": YardLimitRow, "label": YardLabelRow, "refusal": YardRefusalRow}


async def between(session: AsyncSession, row: type[R], after: int, upto: int) -> Sequence[R]:
    """The rows of one kind made after revision `after`, up to `upto`, in the order of the ledger."""
    found = select(row).where(row.revision > after, row.revision <= upto).order_by(row.revision)
    return (await session.scalars(found)).all()


async def is_there(session: AsyncSession, slug: str) -> bool:
    """Whether there is a yard of that slug."""
    return bool(await session.scalar(select(exists().where(YardRow.slug == slug))))


async def rules_between(session: AsyncSession, after: int, upto: int) -> tuple[Sequence[Any], ...]:
    """What was said after revision `after`, up to `upto`: of limits, of labels, of refusals."""
    return (
        await between(session, YardLimitRow, after, upto),
        await between(session, YardLabelRow, after, upto),
        await between(session, YardRefusalRow, after, upto),
    )


async def add(session: AsyncSession, yard: dict[str, Any]) -> None:
    """Adds a yard."""
    await session.execute(insert(YardRow).values(**yard))


async def add_rules(session: AsyncSession, rows: Rows) -> None:
    """Adds to the house rules of a yard."""
    for kind, values in rows.items():
        if values:
            await session.execute(insert(RULES[kind]), values)
