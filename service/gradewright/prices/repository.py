"""Queries on the ledger. Rows are only ever added; every read is as known at a revision."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date
from decimal import Decimal
from typing import Any, NamedTuple

from sqlalchemy import Select, func, select
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.prices.models import EntryRow, PostingRow

PRICE = "price"


class Seen(NamedTuple):
    """One price entry, as the ledger has it."""

    grade: str
    revision: int
    line: int
    yard: str
    author: str
    observed_on: date
    evidence: str
    price: Decimal
    currency: str
    per: str
    from_weight: str | None


COLUMNS = tuple(getattr(EntryRow, name) for name in Seen._fields)


async def newest_prices(
    session: AsyncSession,
    yards: Collection[str],
    *,
    since: date,
    until: date,
    revision: int,
    grades: Collection[str] | None = None,
) -> list[Seen]:
    """Each author's newest price per yard, grade and from-weight in a span, as known at a revision."""
    if not yards or (grades is not None and not grades):
        return []
    partition = (EntryRow.yard, EntryRow.author, EntryRow.grade, EntryRow.from_weight)
    order = (EntryRow.observed_on.desc(), EntryRow.revision.desc(), EntryRow.line.desc())
    within = _seen(yards, since, until, revision, grades).add_columns(
        func.row_number().over(partition_by=partition, order_by=order).label("place")
    )
    ranked = within.subquery()
    names = [ranked.c[name] for name in Seen._fields]
    rows = await session.execute(select(*names).where(ranked.c.place == 1))
    return [Seen(*row) for row in rows]


async def prices_of(
    session: AsyncSession, yards: Collection[str], grade: str, *, since: date, until: date, revision: int
) -> list[Seen]:
    """Every price of one grade observed in a span, as known at a revision."""
    if not yards:
        return []
    rows = await session.execute(_seen(yards, since, until, revision, (grade,)))
    return [Seen(*row) for row in rows]


def _seen(
    yards: Collection[str], since: date, until: date, revision: int, grades: Collection[str] | None
) -> Select[Any]:
    query = select(*COLUMNS).where(
        EntryRow.yard.in_(yards),
        EntryRow.observed_on >= since,
        EntryRow.observed_on <= until,
        EntryRow.revision <= revision,
        EntryRow.kind == PRICE,
    )
    return query if grades is None else query.where(EntryRow.grade.in_(grades))


async def touched(session: AsyncSession, after: int, until: int) -> set[str]:
    """The yards that postings between two revisions were about."""
    rows = await session.scalars(
        select(PostingRow.yard).where(PostingRow.revision > after, PostingRow.revision <= until).distinct()
    )
    return set(rows)


async def add(session: AsyncSession, posting: PostingRow, entries: Sequence[EntryRow]) -> None:
    """Keep a posting and its entries."""
    session.add(posting)
    await session.flush()
    session.add_all(entries)
    await session.flush()


async def find(session: AsyncSession, posting: str) -> tuple[PostingRow, list[EntryRow]] | None:
    """A posting with its entries in the order in which they were posted."""
    row = await session.get(PostingRow, posting)
    if row is None:
        return None
    return row, (await entries_of(session, [posting]))[posting]


async def entries_of(session: AsyncSession, postings: Collection[str]) -> dict[str, list[EntryRow]]:
    """The entries of some postings, in order."""
    rows = await session.scalars(
        select(EntryRow).where(EntryRow.posting.in_(postings)).order_by(EntryRow.revision, EntryRow.line)
    )
    found: dict[str, list[EntryRow]] = {posting: [] for posting in postings}
    for row in rows:
        found[row.posting].append(row)
    return found


async def newest_postings(
    session: AsyncSession, yards: Collection[str] | None, *, before: int, limit: int
) -> list[PostingRow]:
    """Postings recorded before a revision, newest first."""
    query = select(PostingRow).where(PostingRow.revision < before)
    if yards is not None:
        query = query.where(PostingRow.yard.in_(yards))
    rows = await session.scalars(query.order_by(PostingRow.revision.desc()).limit(limit))
    return list(rows)
