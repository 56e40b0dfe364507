"""What was said later of prices: who took theirs back, who confirms or disputes, what was decided."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time
from typing import NamedTuple

from sqlalchemy import case, func, select
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.core.sightings import Entry
from gradewright.core.spoken import Said
from gradewright.core.standing import Record
from gradewright.core.timeline import days_before
from gradewright.db.among import among, each_of
from gradewright.db.ledger import RevisionRow, revision_at
from gradewright.prices.models import PostingRow, WordRow

WITHDRAWAL, CONFIRMATION, DISPUTE, DECISION = "withdrawal", "confirmation", "dispute", "decision"
ACCEPTED, REJECTED = "accepted", "rejected"
NEVER = 2**62  # no revision comes so far


class Word(NamedTuple):
    """One later word, and the price that it is about."""

    entry: Entry
    poster: str
    kind: str
    author: str
    verdict: str | None


@dataclass(frozen=True, slots=True)
class Spoken:
    """What was said of the prices of some yards: which are gone, what speaks for and against the rest.

    `rejected`: how many prices of each author were.
    """

    gone: Mapping[Entry, str] = field(default_factory=dict)
    said: Mapping[Entry, Said] = field(default_factory=dict)
    rejected: Mapping[str, int] = field(default_factory=dict)

    @property
    def speakers(self) -> frozenset[str]:
        """Who confirms or disputes."""
        return frozenset().union(*(said.confirmed_by | said.disputed_by for said in self.said.values()))


async def spoken(
    session: AsyncSession, yards: Collection[str], *, since: date, until: date, revision: int
) -> Spoken:
    """What was said, up to a revision, of prices observed in a span."""
    query = (
        select(
            PostingRow.revision,
            WordRow.about,
            PostingRow.author,
            WordRow.kind,
            WordRow.author,
            WordRow.verdict,
        )
        .join(PostingRow, PostingRow.id == WordRow.posting)
        .where(
            among(session, WordRow.yard, yards),
            WordRow.observed_on >= since,
            WordRow.observed_on <= until,
            WordRow.revision <= revision,
        )
        .order_by(WordRow.revision, WordRow.line)
    )
    return gathered(Word((row[0], row[1]), *row[2:]) for row in await session.execute(query))


def gathered(words: Iterable[Word]) -> Spoken:
    """The words, in the order in which they were recorded, as they stand: the last word of each counts.

    Who posted a price confirms it by settling a ticket that shows it, and in no other way.
    """
    gone: dict[Entry, str] = {}
    voices: dict[Entry, dict[str, str]] = {}
    decided: dict[Entry, tuple[str, str]] = {}
    posters: dict[Entry, str] = {}
    for word in words:
        posters[word.entry] = word.poster
        if word.kind == WITHDRAWAL:
            gone[word.entry] = "withdrawn"
        elif word.kind == DECISION:
            decided[word.entry] = (word.verdict or "", word.poster)
        else:
            voices.setdefault(word.entry, {})[word.author] = word.kind
    rejected = Counter(poster for verdict, poster in decided.values() if verdict == REJECTED)
    for entry, (verdict, _) in decided.items():
        if verdict == REJECTED:
            gone.setdefault(entry, REJECTED)
    said = {
        entry: Said(
            confirmed_by=_who(voices.get(entry, {}), CONFIRMATION),
            disputed_by=_who(voices.get(entry, {}), DISPUTE),
            accepted=entry in decided and decided[entry][0] == ACCEPTED,
            shown=voices.get(entry, {}).get(posters[entry]) == CONFIRMATION,
        )
        for entry in {*voices, *decided} - gone.keys()
    }
    return Spoken(gone, said, rejected)


def _who(voices: Mapping[str, str], kind: str) -> frozenset[str]:
    return frozenset(author for author, spoke in voices.items() if spoke == kind)


async def records(
    session: AsyncSession, authors: Collection[str], *, on: date, revision: int, most: Record
) -> dict[str, Record]:
    """How many postings each has made up to a revision, and how many days ago the first was.

    Whoever has made so many and began so long ago as `most` says has that: in a country that is nearly
    everyone, and only the others are told by the database.
    """
    if not authors:
        return {}
    found = dict.fromkeys(authors, most)
    new = await _unsettled(session, authors, on, revision, most)
    if not new:
        return found
    asked = each_of(session, new)
    theirs = (PostingRow.author == asked.c.value, PostingRow.revision <= revision)
    some = select(PostingRow.revision).where(*theirs).limit(most.postings).correlate(asked).subquery()
    first = select(PostingRow.recorded_at).where(*theirs).order_by(PostingRow.revision).limit(1)
    made = select(func.count()).select_from(some).scalar_subquery()
    each = select(asked.c.value, made, first.correlate(asked).scalar_subquery())
    for author, postings, began in await session.execute(each):
        found[author] = Record(postings, max(0, (on - began.date()).days) if began is not None else 0)
    return found


async def _unsettled(
    session: AsyncSession, authors: Collection[str], on: date, revision: int, most: Record
) -> list[str]:
    """Those who have not made so many postings, or whose first is not so many days ago: by the index alone,
    as revisions are recorded in order, and looked up once for each.
    """
    long_ago = await revision_at(session, datetime.combine(days_before(on, most.days), time.max, UTC))
    asked = each_of(session, authors)
    theirs = (PostingRow.author == asked.c.value, PostingRow.revision <= revision)
    first_ones = select(PostingRow.revision).where(*theirs).order_by(PostingRow.revision)
    enough = first_ones.limit(most.postings).correlate(asked).subquery()
    began = case((func.count() == most.postings, func.min(enough.c.revision)), else_=NEVER)
    query = select(asked.c.value).where(select(began).select_from(enough).scalar_subquery() > long_ago)
    return [*await session.scalars(query)]


async def recorded_on(session: AsyncSession, revision: int) -> date | None:
    """The day (UTC) on which a revision was recorded; None for one that is not there."""
    instant: datetime | None = await session.scalar(
        select(RevisionRow.recorded_at).where(RevisionRow.revision == revision)
    )
    return instant.date() if instant is not None else None
