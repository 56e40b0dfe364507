"""Queries on settled tickets. Rows are only ever added."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.core.markdowns import Sold
from gradewright.db.adding import add_unless_there
from gradewright.settlements.models import SettledBinRow, SettlementRow, WithdrawalRow

_IN_ORDER = (SettlementRow.settled_at, SettlementRow.id)
_WITHDRAWN = tuple(column.key for column in WithdrawalRow.__mapper__.column_attrs)


async def add(session: AsyncSession, bins: Iterable[Mapping[str, Any]], **values: Any) -> bool:
    """Keep a settlement with its bins; False where the same ticket is being settled at the same time."""
    if not await add_unless_there(session, SettlementRow, **values):
        return False
    session.add_all(SettledBinRow(settlement=values["id"], **each) for each in bins)
    await session.flush()
    return True


async def find(session: AsyncSession, settlement: str) -> tuple[SettlementRow, WithdrawalRow | None] | None:
    """A settlement by its id, and what took it back."""
    row = await session.get(SettlementRow, settlement)
    return None if row is None else (row, await session.get(WithdrawalRow, settlement))


async def turns(session: AsyncSession, ticket: str) -> tuple[int, str | None]:
    """How often a ticket was settled, and the settlement of it that stands, if one does."""
    count = await session.scalar(
        select(func.count()).select_from(SettlementRow).where(SettlementRow.ticket == ticket)
    )
    stands: str | None = await session.scalar(
        select(SettlementRow.id)
        .outerjoin(WithdrawalRow, WithdrawalRow.settlement == SettlementRow.id)
        .where(SettlementRow.ticket == ticket, WithdrawalRow.settlement.is_(None))
        .limit(1)
    )
    return count or 0, stands


async def looks_like(session: AsyncSession, alike: str, author: str, *, but: str) -> str | None:
    """The first settlement that stands of an author's own that look alike, `but` for one."""
    found: str | None = await session.scalar(
        select(SettlementRow.id)
        .outerjoin(WithdrawalRow, WithdrawalRow.settlement == SettlementRow.id)
        .where(
            SettlementRow.alike == alike,
            SettlementRow.author == author,
            SettlementRow.id != but,
            WithdrawalRow.settlement.is_(None),
        )
        .order_by(*_IN_ORDER)
        .limit(1)
    )
    return found


async def withdraw(session: AsyncSession, row: WithdrawalRow) -> bool:
    """Take a settlement back; False where that was done already."""
    if await session.get(WithdrawalRow, row.settlement) is not None:
        return False
    values = {name: getattr(row, name) for name in _WITHDRAWN}
    return await add_unless_there(session, WithdrawalRow, **values)


async def sold_at(session: AsyncSession, yard: str) -> list[Sold]:
    """What was sold at a yard by the tickets that stand, in the order in which they were settled. Of those
    that look alike only the first counts, whoever settled them.
    """
    rows = await session.execute(
        select(
            SettlementRow.id,
            SettlementRow.author,
            SettledBinRow.grade,
            SettledBinRow.share,
            SettledBinRow.unclear,
            SettlementRow.alike,
        )
        .join(SettledBinRow, SettledBinRow.settlement == SettlementRow.id)
        .outerjoin(WithdrawalRow, WithdrawalRow.settlement == SettlementRow.id)
        .where(SettlementRow.yard == yard, WithdrawalRow.settlement.is_(None))
        .order_by(*_IN_ORDER, SettledBinRow.grade)
    )
    first: dict[str, str] = {}
    return [
        Sold(ticket, seller, grade, None if unclear else share)
        for ticket, seller, grade, share, unclear, alike in rows
        if alike is None or first.setdefault(alike, ticket) == ticket
    ]
