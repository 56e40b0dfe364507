"""Queries of yards, their labels and their refusals."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, TypeVar

from sqlalchemy import exists, insert, select
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.yards.models import YardLabelRow, YardRefusalRow, YardRow

R = TypeVar("R", YardRow, YardLabelRow, YardRefusalRow)


async def between(session: AsyncSession, row: type[R], after: int, upto: int) -> Sequence[R]:
    """The rows of one kind made after revision `after`, up to `upto`."""
    return (await session.scalars(select(row).where(row.revision > after, row.revision <= upto))).all()


async def is_there(session: AsyncSession, slug: str) -> bool:
    """Whether there is a yard of that slug."""
    return bool(await session.scalar(select(exists().where(YardRow.slug == slug))))


async def add(
    session: AsyncSession,
    yard: dict[str, Any],
    labels: Iterable[dict[str, Any]],
    refusals: Iterable[dict[str, Any]],
) -> None:
    """Adds a yard with its labels and refusals."""
    await session.execute(insert(YardRow).values(**yard))
    for row, values in ((YardLabelRow, list(labels)), (YardRefusalRow, list(refusals))):
        if values:
            await session.execute(insert(row), values)
