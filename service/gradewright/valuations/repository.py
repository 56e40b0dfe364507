"""Queries on kept valuations."""

from __future__ import annotations

from sqlalchemy import func, select
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.valuations.models import ValuationRow


async def add(session: AsyncSession, row: ValuationRow) -> None:
    """Keep a valuation; it can never be changed afterwards."""
    session.add(row)
    await session.flush()


async def find(session: AsyncSession, valuation: str) -> ValuationRow | None:
    """A kept valuation by its id."""
    return await session.get(ValuationRow, valuation)


async def trees(session: AsyncSession) -> list[tuple[int, bytes, str]]:
    """The trees that kept valuations were answered with: size, root, and the id of one of them."""
    row = ValuationRow
    rows = await session.execute(
        select(row.tree_size, row.tree_root, func.min(row.id))
        .where(row.tree_size.is_not(None), row.tree_root.is_not(None))
        .group_by(row.tree_size, row.tree_root)
    )
    return [
        (size, root, valuation) for size, root, valuation in rows if size is not None and root is not None
    ]
