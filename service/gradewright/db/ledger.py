"""The ledger's counter: one revision per committed write, gap-free and in commit order."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import cast

from sqlalchemy import CheckConstraint, Table, bindparam, case, func, literal, select, update
from sqlalchemy.ext.asyncio import AsyncSession
from sqlalchemy.orm import Mapped, mapped_column

from gradewright.db.base import Base
from gradewright.db.types import UtcInstant

TAKEN = "gradewright_revision"
"""Where a session keeps the revision that its transaction has taken."""


ONLY_PRICES = "gradewright_only_prices"
"""Where a session keeps the first of the revisions that its transaction has taken, if those bring prices
and nothing else: what the worker keeps of other things need not be looked up again because of them."""


class LedgerRow(Base):
    """The one row that moves. A trigger lets its revision grow by one at a time only."""

    __tablename__ = "ledger"
    __table_args__ = (CheckConstraint("id = 1", name="one_row"),)

    id: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    revision: Mapped[int]
    recorded_at: Mapped[datetime]


class RevisionRow(Base):
    """When each revision was recorded. A trigger on the ledger writes it, so none can be missing."""

    __tablename__ = "revisions"

    revision: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    recorded_at: Mapped[datetime] = mapped_column(index=True)


_STEP = (
    update(cast("Table", LedgerRow.__table__))
    .where(LedgerRow.id == bindparam("one"))
    .values(revision=LedgerRow.revision + 1)
)


@dataclass(frozen=True, slots=True)
class Revision:
    """A number of the ledger and the instant at which it was recorded (never before the last one's)."""

    number: int
    recorded_at: datetime


async def next_revision(session: AsyncSession, now: datetime) -> Revision:
    """Takes the next revision for the write in `session`, as `next_revisions` does."""
    return (await next_revisions(session, now, 1))[0]


async def next_revisions(session: AsyncSession, now: datetime, count: int) -> list[Revision]:
    """Takes the next revisions, all recorded at the same instant, for the write in `session`.

    The row stays locked until the transaction ends, so numbers are given in commit order and a
    rollback gives its number back. Call it as late as can be: other writers wait from here on.
    """
    later = case((LedgerRow.recorded_at < now, literal(now, UtcInstant())), else_=LedgerRow.recorded_at)
    row = (
        await session.execute(
            update(LedgerRow)
            .values(revision=LedgerRow.revision + 1, recorded_at=later)
            .returning(LedgerRow.revision, LedgerRow.recorded_at)
            .execution_options(synchronize_session=False)
        )
    ).one()
    taken = [Revision(row.revision + step, row.recorded_at) for step in range(count)]
    if count > 1:
        connection = await session.connection()
        await connection.execute(_STEP, [{"one": 1}] * (count - 1))
    session.info[TAKEN] = taken[-1]
    return taken


async def newest_revision(session: AsyncSession) -> Revision:
    """The newest committed revision; number 0 where nothing has been written yet."""
    row = (await session.execute(select(LedgerRow.revision, LedgerRow.recorded_at))).one()
    return Revision(row.revision, row.recorded_at)


async def revision_at(session: AsyncSession, instant: datetime) -> int:
    """The newest revision recorded at `instant` or before; 0 where there was none yet."""
    # The newest instant first, by its index: every earlier revision matches too, and there are many.
    at = select(func.max(RevisionRow.recorded_at)).where(RevisionRow.recorded_at <= instant)
    found = await session.scalar(
        select(func.max(RevisionRow.revision)).where(RevisionRow.recorded_at == at.scalar_subquery())
    )
    return found or 0
