"""Queries for whole lists."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date

from sqlalchemy import func, select, tuple_
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.core.sightings import Entry
from gradewright.prices.list_changes import Claim
from gradewright.prices.models import EntryRow
from gradewright.prices.repository import PRICE, gone

NAMES = (
    "grade",
    "label",
    "price",
    "currency",
    "per",
    "from_weight",
    "observed_on",
    "revision",
    "line",
    "posting",
)
COLUMNS = tuple(getattr(EntryRow, name) for name in NAMES)


async def newest_claims(
    session: AsyncSession,
    yard: str,
    *,
    since: date,
    until: date,
    revision: int,
    grades: Collection[str] | None = None,
    besides: Collection[Entry] = (),
) -> list[Claim]:
    """A yard's newest price for each grade and from-weight as written, whoever posted it, as known at a
    revision; none that was withdrawn or rejected, and none of those in `besides`."""
    order = (EntryRow.observed_on.desc(), EntryRow.revision.desc(), EntryRow.line.desc())
    place = func.row_number().over(partition_by=(EntryRow.grade, EntryRow.from_weight), order_by=order)
    query = select(*COLUMNS, place.label("place")).where(
        EntryRow.yard == yard,
        EntryRow.observed_on >= since,
        EntryRow.observed_on <= until,
        EntryRow.revision <= revision,
        EntryRow.kind == PRICE,
        ~gone(revision),
    )
    if grades is not None:
        query = query.where(EntryRow.grade.in_(grades))
    if besides:
        query = query.where(tuple_(EntryRow.revision, EntryRow.line).not_in(besides))
    ranked = query.subquery()
    rows = await session.execute(select(*(ranked.c[name] for name in NAMES)).where(ranked.c.place == 1))
    return [Claim(*row) for row in rows]
