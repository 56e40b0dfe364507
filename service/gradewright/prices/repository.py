"""Queries on the ledger. Rows are only ever added; every read is as known at a revision."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import UTC, date, datetime, time
from decimal import Decimal
from typing import Any, NamedTuple, cast

from sqlalchemy import Exists, Select, Table, and_, exists, func, insert, or_, select, tuple_
from sqlalchemy.ext.asyncio import AsyncSession
from sqlalchemy.orm import aliased

from gradewright.core.rates import made
from gradewright.core.sightings import Entry
from gradewright.db.among import among
from gradewright.db.ledger import RevisionRow
from gradewright.prices import said
from gradewright.prices.models import EntryRow, PostingRow, WordRow

PRICE = "price"
MANY_KEYS = 5_000  # a statement has a limited number of parts


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


_WRITTEN = tuple(column.key for column in EntryRow.__mapper__.column_attrs)
_POSTED = tuple(column.key for column in PostingRow.__mapper__.column_attrs)
_ADD_POSTINGS = insert(cast("Table", PostingRow.__table__))
_ADD_ENTRIES = insert(cast("Table", EntryRow.__table__))
COLUMNS = tuple(getattr(EntryRow, name) for name in Seen._fields)


async def newest_prices(
    session: AsyncSession,
    yards: Collection[str] | None,
    *,
    since: date,
    until: date,
    revision: int,
    grades: Collection[str] | None = None,
    authors: Collection[str] | None = None,
    some_gone: bool = True,
    besides: Collection[Entry] = (),
) -> list[Seen]:
    """Each author's newest price per yard, grade and from-weight in a span, as known at a revision.

    Withdrawn and rejected ones are left out (`some_gone`: whether there can be any), and those in `besides`.
    `yards` None: of all that there are, which is quicker than naming them; only with grades.
    """
    if (yards is not None and not yards) or (grades is not None and not grades):
        return []
    # By grade first, as a country is read; then by authors, who mostly tell one yard from another already.
    partition = (EntryRow.grade, EntryRow.author, EntryRow.yard, EntryRow.from_weight)
    order = (EntryRow.observed_on.desc(), EntryRow.revision.desc(), EntryRow.line.desc())
    seen = _seen(session, yards, since, until, revision, grades)
    if some_gone:
        seen = seen.where(~gone(revision))
    if authors is not None:
        seen = seen.where(EntryRow.author.in_(authors))
    if besides:
        seen = seen.where(tuple_(EntryRow.revision, EntryRow.line).not_in(besides))
    within = seen.add_columns(func.row_number().over(partition_by=partition, order_by=order).label("place"))
    ranked = within.subquery()
    names = [ranked.c[name] for name in Seen._fields]
    # Past what the session does for rows of mapped classes: these are plain.
    rows = (await (await session.connection()).execute(select(*names).where(ranked.c.place == 1))).all()
    return [made(Seen, row) for row in rows]


async def prices_of(
    session: AsyncSession,
    yards: Collection[str],
    grade: str | None,
    *,
    since: date,
    until: date,
    revision: int,
) -> list[Seen]:
    """Every price of one grade (None: of all) observed in a span, as known at a revision.

    Left out is what was withdrawn or rejected by then.
    """
    if not yards:
        return []
    grades = None if grade is None else (grade,)
    seen = _seen(session, yards, since, until, revision, grades).where(~gone(revision))
    return [made(Seen, row) for row in await session.execute(seen)]


def gone(revision: int) -> Exists:
    """Whether a price was withdrawn, or rejected by the last decision, up to a revision."""
    later = aliased(WordRow)
    decided_anew = exists().where(
        later.posting == WordRow.posting,
        later.about == WordRow.about,
        later.kind == said.DECISION,
        later.revision > WordRow.revision,
        later.revision <= revision,
    )
    rejected = and_(WordRow.verdict == said.REJECTED, ~decided_anew)
    return exists().where(
        WordRow.posting == EntryRow.posting,
        WordRow.about == EntryRow.line,
        WordRow.revision <= revision,
        or_(WordRow.kind == said.WITHDRAWAL, rejected),
    )


def _seen(
    session: AsyncSession,
    yards: Collection[str] | None,
    since: date,
    until: date,
    revision: int,
    grades: Collection[str] | None,
) -> Select[Any]:
    query = select(*COLUMNS).where(
        EntryRow.observed_on >= since,
        EntryRow.observed_on <= until,
        EntryRow.revision <= revision,
        EntryRow.kind == PRICE,
    )
    if yards is not None:
        query = query.where(among(session, EntryRow.yard, yards))
    return query if grades is None else query.where(EntryRow.grade.in_(grades))


async def touched(session: AsyncSession, after: int, until: int) -> set[str]:
    """The yards that postings, and words about them, between two revisions were about."""
    found: set[str] = set()
    for row in (PostingRow, WordRow):
        between = select(row.yard).where(row.revision > after, row.revision <= until)
        found.update(await session.scalars(between.distinct()))
    return found


async def add(session: AsyncSession, postings: Iterable[PostingRow], entries: Iterable[EntryRow]) -> None:
    """Keep postings and their entries."""
    # Past the session's own bookkeeping of every row, which takes twice as long as the rows themselves.
    await session.execute(_ADD_POSTINGS, [{name: getattr(row, name) for name in _POSTED} for row in postings])
    await session.execute(_ADD_ENTRIES, [{name: getattr(row, name) for name in _WRITTEN} for row in entries])


async def find(
    session: AsyncSession, posting: str, *, first: int = 1, most: int | None = None
) -> tuple[PostingRow, list[EntryRow]] | None:
    """A posting with its entries in the order in which they were posted: all, or some from a line on."""
    row = await session.get(PostingRow, posting)
    if row is None:
        return None
    return row, (await entries_of(session, [posting], first=first, most=most))[posting]


async def entries_of(
    session: AsyncSession, postings: Collection[str], *, first: int = 1, most: int | None = None
) -> dict[str, list[EntryRow]]:
    """The entries of some postings, in order: all, or of each so many at most from a line on."""
    query = select(EntryRow).where(EntryRow.posting.in_(postings), EntryRow.line >= first)
    if most is not None:
        query = query.where(EntryRow.line < first + most)
    rows = await session.scalars(query.order_by(EntryRow.revision, EntryRow.line))
    found: dict[str, list[EntryRow]] = {posting: [] for posting in postings}
    for row in rows:
        found[row.posting].append(row)
    return found


async def words_of(
    session: AsyncSession, postings: Collection[str], revision: int | None = None
) -> dict[str, list[WordRow]]:
    """What was said later of some postings, in the order in which it was recorded, up to a revision."""
    query = select(WordRow).where(WordRow.posting.in_(postings))
    if revision is not None:
        query = query.where(WordRow.revision <= revision)
    found: dict[str, list[WordRow]] = {posting: [] for posting in postings}
    for row in await session.scalars(query.order_by(WordRow.revision, WordRow.line)):
        found[row.posting].append(row)
    return found


async def recorded_at(session: AsyncSession, revisions: Collection[int]) -> dict[int, datetime]:
    """When some revisions were recorded."""
    query = select(RevisionRow.revision, RevisionRow.recorded_at).where(RevisionRow.revision.in_(revisions))
    return {row[0]: row[1] for row in await session.execute(query)}


async def postings_at(session: AsyncSession, ids: Collection[str]) -> list[PostingRow]:
    """The postings of those ids."""
    return list(await session.scalars(select(PostingRow).where(PostingRow.id.in_(ids))))


async def entries_at(session: AsyncSession, keys: Collection[Entry]) -> list[EntryRow]:
    """The entries of those revisions and lines, in order."""
    found: list[EntryRow] = []
    in_order = sorted(keys)
    for start in range(0, len(in_order), MANY_KEYS):
        where = tuple_(EntryRow.revision, EntryRow.line).in_(in_order[start : start + MANY_KEYS])
        query = select(EntryRow).where(where).order_by(EntryRow.revision, EntryRow.line)
        found += await session.scalars(query)
    return found


async def newest_postings(
    session: AsyncSession, yards: Collection[str] | None, *, before: int, limit: int
) -> list[PostingRow]:
    """Postings recorded before a revision, newest first."""
    query = select(PostingRow).where(PostingRow.revision < before)
    if yards is not None:
        query = query.where(among(session, PostingRow.yard, yards))
    rows = await session.scalars(query.order_by(PostingRow.revision.desc()).limit(limit))
    return list(rows)


async def posted_between(session: AsyncSession, first: date, until: date | None) -> int:
    """How many postings tell of a day, or were made on one, from `first` on and before `until`."""
    seen, made = PostingRow.observed_on >= first, PostingRow.recorded_at >= _begin(first)
    if until is not None:
        seen = and_(seen, PostingRow.observed_on < until)
        made = and_(made, PostingRow.recorded_at < _begin(until))
    return await session.scalar(select(func.count()).select_from(PostingRow).where(or_(seen, made))) or 0


def _begin(day: date) -> datetime:
    return datetime.combine(day, time.min, UTC)
