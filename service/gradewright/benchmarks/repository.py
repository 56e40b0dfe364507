"""Queries of benchmarks and their values."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy import insert, select
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.benchmarks.models import BenchmarkRow, BenchmarkValueRow


async def benchmarks_between(session: AsyncSession, after: int, upto: int) -> Sequence[BenchmarkRow]:
    """The benchmarks made after a revision, up to another, in the order of the ledger."""
    found = select(BenchmarkRow).where(BenchmarkRow.revision > after, BenchmarkRow.revision <= upto)
    return (await session.scalars(found.order_by(BenchmarkRow.revision))).all()


async def values_between(session: AsyncSession, after: int, upto: int) -> Sequence[Any]:
    """The values recorded after a revision, up to another: benchmark, day, value, revision."""
    row = BenchmarkValueRow
    found = select(row.benchmark, row.day, row.value, row.revision).where(
        row.revision > after, row.revision <= upto
    )
    return (await session.execute(found.order_by(row.benchmark, row.day, row.revision))).all()


async def newest_values(session: AsyncSession, slug: str, days: Collection[date]) -> dict[date, Decimal]:
    """The value that was recorded last of each of the days that has one."""
    value = BenchmarkValueRow
    span = (value.day >= min(days), value.day <= max(days))
    found = select(value.day, value.value).where(value.benchmark == slug, *span).order_by(value.revision)
    return {row.day: row.value for row in await session.execute(found)}


async def is_there(session: AsyncSession, slug: str) -> bool:
    """Whether there is a benchmark of that name."""
    return await session.get(BenchmarkRow, slug) is not None


async def add(session: AsyncSession, row: Mapping[str, Any]) -> None:
    """Adds one benchmark."""
    await session.execute(insert(BenchmarkRow).values(**row))


async def add_values(session: AsyncSession, rows: Sequence[dict[str, Any]]) -> None:
    """Adds values."""
    await session.execute(insert(BenchmarkValueRow), rows)
