"""Which prices of a region count on a day, as known at a revision: what waits, and whose word weighs most.

All is judged among the yards of one region: claims of the same grade against each other, authors by what they
claim there on the day on which the revision was recorded.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from functools import partial
from typing import TypeVar

from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.core.aging import Aging
from gradewright.core.consensus import Entry, Sighting
from gradewright.core.drawn import drawn
from gradewright.core.holding import MOST_LOOKS, Held, held_of
from gradewright.core.rates import Rate
from gradewright.core.rulebook import Pricing
from gradewright.core.standing import NOBODY, standings
from gradewright.core.timeline import days_before
from gradewright.core.units import MASS_UNITS, parse_mass
from gradewright.prices import repository, said
from gradewright.prices.repository import Seen
from gradewright.prices.said import Spoken

NO_LOT = Decimal(0)
MANY_ROWS = 2_000
MOST_LEFT_OUT = 5_000  # a statement has a limited number of parts
T = TypeVar("T")
Sightings = Mapping[str, Sequence[Sighting]]


@dataclass(frozen=True, slots=True)
class Asked:
    """The yards of a region and the currency that counts there; a day, a revision and a version's pricing,
    with how prices age by it.

    `most_yards`: where more yards pay for a grade, so many of them are drawn."""

    yards: Collection[str]
    currency: str
    on: date
    revision: int
    pricing: Pricing
    aging: Aging
    grades: frozenset[str] | None = None
    most_yards: int | None = None


@dataclass(frozen=True, slots=True)
class Counted:
    """What was seen, in any currency; the sightings by grade; those in `held` wait and do not count.

    `speaking`: of how many yards those were drawn that are here, by grade, where not all are."""

    rows: Sequence[Seen]
    seen: Sightings
    standing: Mapping[str, Decimal]
    held: Mapping[Entry, Held]
    speaking: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Claimed:
    """What the authors of a region say on a day: the rows, the sightings by grade, what was said of them."""

    rows: Sequence[Seen]
    seen: Sightings
    spoken: Spoken
    speaking: Mapping[str, int]


async def count(
    session: AsyncSession, asked: Asked, standing: Mapping[str, Decimal] | None = None
) -> Counted:
    """What each author says of each yard. `standing`: of the authors, where it is known already."""
    claimed = await _claimed(session, asked)
    rows, spoken, seen = claimed.rows, claimed.spoken, dict(claimed.seen)
    if standing is None:
        standing = await standing_of(session, asked, claimed)
    held: dict[Entry, Held] = {}
    judged: Collection[str] = seen.keys()
    for look in range(MOST_LOOKS):
        new = await aside(len(rows), partial(_held, seen, judged, asked, standing, spoken, held))
        held |= new
        waiting = [row for row in rows if row[1:3] in new]
        if not waiting or look + 1 == MOST_LOOKS or len(held) > MOST_LEFT_OUT:
            break
        # In place of a price that waits, the one before it by the same author stands, if it can.
        before = await _before(session, asked, spoken, waiting, held)
        rows, judged = [*rows, *before], {row.grade for row in waiting}
        for grade, more in aged_sightings(before, asked, asked.on).items():
            seen[grade] = [*seen[grade], *more]
    return Counted(rows, seen, standing, held, claimed.speaking)


async def standing_of(
    session: AsyncSession, asked: Asked, known: Claimed | None = None
) -> Mapping[str, Decimal]:
    """The standing of the authors of a region's claims, by the grades asked for, on the day of the revision.

    `known`: the claims on the day asked for, where they have been read already.
    """
    rules = asked.pricing.standing
    if rules is None:
        return NOBODY
    day = await said.recorded_on(session, asked.revision)
    if day is None:
        return NOBODY
    then = known if known is not None and day == asked.on else await _claimed(session, replace(asked, on=day))
    authors = {row.author for row in then.rows}
    found = await said.records(session, authors, on=day, revision=asked.revision, most=rules.settled_postings)
    rejected = then.spoken.rejected
    records = {author: replace(record, rejected=rejected.get(author, 0)) for author, record in found.items()}
    return await aside(len(then.rows), partial(standings, then.seen, day, records, asked.pricing))


async def aside(rows: int, work: Callable[[], T]) -> T:
    """What a whole country pays takes a second: then in a thread, and other requests go on meanwhile."""
    return await asyncio.to_thread(work) if rows >= MANY_ROWS else work()


def sightings(rows: Collection[Seen], currency: str) -> Sightings:
    """Rows as values of the core, by grade; those in another currency left out: nothing is converted."""
    found: dict[str, list[Sighting]] = {}
    for row in rows:
        if row.currency == currency:
            found.setdefault(row.grade, []).append(sighting(row))
    return found


def aged_sightings(rows: Collection[Seen], asked: Asked, on: date) -> Sightings:
    """The same, each price moved with its benchmark to the day."""
    return {grade: asked.aging.aged(grade, s, on) for grade, s in sightings(rows, asked.currency).items()}


def sighting(row: Seen) -> Sighting:
    """A row of the ledger as a value of the core."""
    return Sighting(
        revision=row.revision,
        line=row.line,
        yard=row.yard,
        author=row.author,
        observed_on=row.observed_on,
        evidence=row.evidence,
        rate=Rate(row.price, MASS_UNITS[row.per].grams),
        from_grams=NO_LOT if row.from_weight is None else parse_mass(row.from_weight).grams,
        from_weight=row.from_weight,
    )


def _held(
    seen: Sightings,
    grades: Collection[str],
    asked: Asked,
    standing: Mapping[str, Decimal],
    spoken: Spoken,
    held: Collection[Entry],
) -> dict[Entry, Held]:
    found: dict[Entry, Held] = {}
    for grade in grades:
        rest = [s for s in seen[grade] if s.entry not in held] if held else seen[grade]
        found |= held_of(rest, asked.on, asked.pricing, standing, spoken.said)
    return found


async def _claimed(session: AsyncSession, asked: Asked) -> Claimed:
    since = days_before(asked.on, asked.pricing.stale_after)
    spoken = await said.spoken(session, asked.yards, since=since, until=asked.on, revision=asked.revision)
    rows = await repository.newest_prices(
        session,
        asked.yards,
        since=since,
        until=asked.on,
        revision=asked.revision,
        grades=asked.grades,
        some_gone=bool(spoken.gone),
    )
    speaking: Mapping[str, int] = {}
    if asked.most_yards is not None and len(asked.yards) > asked.most_yards:
        rows, speaking = _drawn(rows, asked.currency, asked.most_yards)
    return Claimed(rows, aged_sightings(rows, asked, asked.on), spoken, speaking)


def _drawn(rows: Sequence[Seen], currency: str, most: int) -> tuple[list[Seen], dict[str, int]]:
    """The rows of the yards that speak for each grade; of how many they were drawn, where not all do.

    Those that pay in other currencies are drawn apart: they do not count, and are only told of.
    """
    paying: dict[tuple[str, str], set[str]] = {}
    for row in rows:
        paying.setdefault((row.grade, row.currency), set()).add(row.yard)
    speak = {key: drawn(key[0], yards, most) for key, yards in paying.items()}
    kept = [row for row in rows if row.yard in speak[row.grade, row.currency]]
    many = {key[0]: len(paying[key]) for key in speak if key[1] == currency and len(paying[key]) > most}
    return kept, many


async def _before(
    session: AsyncSession, asked: Asked, spoken: Spoken, waiting: Sequence[Seen], held: Collection[Entry]
) -> list[Seen]:
    """What the authors of prices that wait said before of the same yard, grade and from-weight."""
    wanted = {_claim(row) for row in waiting}
    rows = await repository.newest_prices(
        session,
        {row.yard for row in waiting},
        since=days_before(asked.on, asked.pricing.stale_after),
        until=asked.on,
        revision=asked.revision,
        grades={row.grade for row in waiting},
        authors={row.author for row in waiting},
        some_gone=bool(spoken.gone),
        besides=held,
    )
    return [row for row in rows if _claim(row) in wanted]


def _claim(row: Seen) -> tuple[str, str, str, str | None]:
    return row.yard, row.author, row.grade, row.from_weight
