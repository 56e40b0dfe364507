"""Queries for backtests: what was seen of any lot, and how much there is to go through."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, case, func, select
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.core.rates import made
from gradewright.db.among import among
from gradewright.prices.models import EntryRow
from gradewright.prices.repository import COLUMNS, PRICE, Seen


class What(NamedTuple):
    """Prices seen at yards in a span, as known at a revision; `grade`: which is predicted, None for all."""

    yards: Collection[str]
    grade: str | None
    since: date
    until: date
    revision: int


class Amount(NamedTuple):
    """How many prices were seen on a day: of any lot, in what is predicted; and in all."""

    predicted: int = 0
    in_all: int = 0


async def amounts(session: AsyncSession, what: What) -> dict[date, Amount]:
    """How much was seen on each day; what is gone is counted too."""
    if not what.yards:
        return {}
    predicted = func.count(case((_of_any_lot(what.grade), 1)))
    query = select(EntryRow.observed_on, predicted, func.count()).where(*_seen(session, what))
    rows = await session.execute(query.group_by(EntryRow.observed_on))
    return {row[0]: Amount(row[1], row[2]) for row in rows}


async def prices_of_any_lot(session: AsyncSession, what: What) -> list[Seen]:
    """Every price without a from-weight of what is predicted, also what was taken back later."""
    if not what.yards:
        return []
    query = select(*COLUMNS).where(*_seen(session, what), _of_any_lot(what.grade))
    return [made(Seen, row) for row in await session.execute(query)]


def _seen(session: AsyncSession, what: What) -> list[ColumnElement[bool]]:
    return [
        EntryRow.observed_on >= what.since,
        EntryRow.observed_on <= what.until,
        EntryRow.revision <= what.revision,
        EntryRow.kind == PRICE,
        among(session, EntryRow.yard, what.yards),
    ]


def _of_any_lot(grade: str | None) -> Any:
    any_lot = EntryRow.from_weight.is_(None)
    return any_lot if grade is None else any_lot & (EntryRow.grade == grade)
