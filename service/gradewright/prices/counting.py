"""Which prices of a region count on a day, as known at a revision: what waits, and whose word weighs most.

All is judged among the yards of one region: claims of the same grade against each other, authors by what they
claim there on the day on which the revision was recorded.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence, Set
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from functools import partial
from typing import TypeVar

from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.core.aging import Aging
from gradewright.core.drawn import drawn
from gradewright.core.holding import MOST_LOOKS, judge, marked
from gradewright.core.rates import Rate, made
from gradewright.core.rulebook import Pricing
from gradewright.core.sightings import Entry, Sighting
from gradewright.core.spoken import Held, Said
from gradewright.core.standing import NOBODY, Record, standings
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

    `most_yards`: where more yards pay for a grade, so many of them are drawn. `everywhere`: no yard is
    outside of the region. `coming`: prices that are not in the ledger yet, judged as if they had been
    recorded on the day `coming_on` (that asked for)."""

    yards: Collection[str]
    currency: str
    on: date
    revision: int
    pricing: Pricing
    aging: Aging
    grades: frozenset[str] | None = None
    most_yards: int | None = None
    everywhere: bool = False
    coming: Sequence[Seen] = ()
    coming_on: date | None = None


@dataclass(frozen=True, slots=True)
class Counted:
    """What was seen, in any currency; the sightings by grade; those in `held` wait and do not count.

    `speaking`: of how many yards those were drawn that are here, by grade, where not all are. `said`: what
    members say of them."""

    rows: Sequence[Seen]
    seen: Sightings
    standing: Mapping[str, Decimal]
    held: Mapping[Entry, Held]
    speaking: Mapping[str, int] = field(default_factory=dict)
    said: Mapping[Entry, Said] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Claimed:
    """What the authors of a region say on a day: the rows, the sightings by grade, what was said of them."""

    rows: Sequence[Seen]
    seen: Sightings
    spoken: Spoken


async def count(
    session: AsyncSession, asked: Asked, standing: Mapping[str, Decimal] | None = None
) -> Counted:
    """What each author says of each yard, and which of it waits.

    Who weighs what is judged by all claims, also where only the prices of some yards are drawn. `standing`:
    of the authors, where it is known: it is that of the revision's day, whatever day is asked for.
    """
    if standing is None:
        day = await _judged_on(session, asked)
        claimed, then = await _claimed_on(session, asked, day)
        standing = NOBODY if day is None else await _standing(session, asked, then, day)
    else:
        claimed = await _claimed(session, asked)
    standing = await everybody(session, asked, standing, claimed.rows, claimed.spoken)
    rows, spoken, seen, speaking = claimed.rows, claimed.spoken, dict(claimed.seen), dict[str, int]()
    if asked.most_yards is not None and len(asked.yards) > asked.most_yards:
        rows, some, speaking = _drawn(claimed, asked.currency, asked.most_yards)
        seen = dict(some)
    held: dict[Entry, Held] = {}
    borne_out: dict[str, Set[Entry]] = {}
    judged: Collection[str] = seen.keys()
    for look in range(MOST_LOOKS):
        look_at = partial(_judged, seen, judged, asked, standing, spoken, held)
        new, borne_out_now = await aside(len(rows), look_at)
        held |= new
        borne_out |= borne_out_now
        waiting = [row for row in rows if row[1:3] in new]
        if not waiting or look + 1 == MOST_LOOKS or len(held) > MOST_LEFT_OUT:
            break
        # In place of a price that waits, the one before it by the same author stands, if it can.
        before = await _before(session, asked, spoken, waiting, held)
        rows, judged = [*rows, *before], {row.grade for row in waiting}
        for grade, more in aged_sightings(before, asked, asked.on).items():
            seen[grade] = [*seen[grade], *more]
    seen |= {grade: marked(seen[grade], entries) for grade, entries in borne_out.items() if entries}
    return Counted(rows, seen, standing, held, speaking, spoken.said)


async def standing_of(session: AsyncSession, asked: Asked) -> Mapping[str, Decimal]:
    """The standing of the authors of a region's claims, by the grades asked for, on the revision's day."""
    day = await _judged_on(session, asked)
    if day is None:
        return NOBODY
    return await _standing(session, asked, await _claimed(session, replace(asked, on=day)), day)


async def everybody(
    session: AsyncSession,
    asked: Asked,
    standing: Mapping[str, Decimal],
    rows: Iterable[Seen],
    spoken: Spoken,
) -> Mapping[str, Decimal]:
    """Besides the standing of those who claim something on the day on which authors are judged that of all
    others whose the rows are, or who speak of any: by their record alone, in versions that say so.
    """
    rules = asked.pricing.standing
    if rules is None or not rules.by_record:
        return standing
    others = ({row.author for row in rows} | spoken.speakers) - standing.keys()
    day = await _judged_on(session, asked) if others else None
    if day is None:
        return standing
    settled = Record(rules.settled_postings, rules.settled_days)
    records = await said.records(session, others, on=day, revision=asked.revision, most=settled)
    return {**standing, **standings({}, day, records, asked.pricing)}


async def _judged_on(session: AsyncSession, asked: Asked) -> date | None:
    """The day on which authors are judged; None where the version judges nobody."""
    if asked.coming and asked.pricing.standing is not None:
        return asked.coming_on or asked.on
    return await said.recorded_on(session, asked.revision) if asked.pricing.standing is not None else None


async def _standing(
    session: AsyncSession, asked: Asked, claimed: Claimed, day: date
) -> Mapping[str, Decimal]:
    rules, rejected = asked.pricing.standing, claimed.spoken.rejected
    if rules is None:
        return NOBODY
    authors, coming = {row.author for row in claimed.rows}, {row.author for row in asked.coming}
    if asked.pricing.holding is not None and asked.pricing.holding.words_weighed:
        authors |= claimed.spoken.speakers
    settled = Record(rules.settled_postings, rules.settled_days)
    found = await said.records(session, authors, on=day, revision=asked.revision, most=settled)
    records = {
        author: replace(
            record, postings=record.postings + (author in coming), rejected=rejected.get(author, 0)
        )
        for author, record in found.items()
    }
    return await aside(len(claimed.rows), partial(standings, claimed.seen, day, records, asked.pricing))


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
    _, revision, line, yard, author, observed_on, evidence, price, _, per, from_weight = row
    rate = made(Rate, (price, MASS_UNITS[per].grams))
    lot = NO_LOT if from_weight is None else parse_mass(from_weight).grams
    seen = revision, line, yard, author, observed_on, evidence, rate, lot, from_weight, None, False
    return made(Sighting, seen)


def _judged(
    seen: Sightings,
    grades: Collection[str],
    asked: Asked,
    standing: Mapping[str, Decimal],
    spoken: Spoken,
    held: Collection[Entry],
) -> tuple[dict[Entry, Held], dict[str, Set[Entry]]]:
    """What waits, and by grade what would but is borne out."""
    found: dict[Entry, Held] = {}
    borne_out: dict[str, Set[Entry]] = {}
    for grade in grades:
        rest = [s for s in seen[grade] if s.entry not in held] if held else seen[grade]
        judged = judge(rest, asked.on, asked.pricing, standing, spoken.said)
        found |= judged.held
        borne_out[grade] = judged.borne_out
    return found, borne_out


async def _claimed_on(session: AsyncSession, asked: Asked, day: date | None) -> tuple[Claimed, Claimed]:
    """The claims on the day asked for, and on another one; read at once where one is soon after the other."""
    if day is None or day == asked.on:
        claimed = await _claimed(session, asked)
        return claimed, claimed
    then = replace(asked, on=day)
    stale_after = asked.pricing.stale_after
    if 0 < (asked.on - day).days <= stale_after:
        spoken, spoken_then = await _spoken(session, asked), await _spoken(session, then)
        some_gone = bool(spoken.gone or spoken_then.gone)
        rows = await _newest(session, asked, days_before(day, stale_after), some_gone)
        # Whatever is the newest up to the later day is so up to the earlier one too, if it was seen by then.
        if all(row.observed_on <= day for row in rows):
            since = days_before(asked.on, stale_after)
            now = [row for row in rows if row.observed_on >= since]
            seen, seen_then = aged_sightings(now, asked, asked.on), aged_sightings(rows, asked, day)
            return Claimed(now, seen, spoken), Claimed(rows, seen_then, spoken_then)
    return await _claimed(session, asked), await _claimed(session, then)


async def _claimed(session: AsyncSession, asked: Asked) -> Claimed:
    spoken = await _spoken(session, asked)
    since = days_before(asked.on, asked.pricing.stale_after)
    rows = await _newest(session, asked, since, bool(spoken.gone))
    return Claimed(rows, aged_sightings(rows, asked, asked.on), spoken)


async def _spoken(session: AsyncSession, asked: Asked) -> Spoken:
    since = days_before(asked.on, asked.pricing.stale_after)
    return await said.spoken(session, asked.yards, since=since, until=asked.on, revision=asked.revision)


async def _newest(session: AsyncSession, asked: Asked, since: date, some_gone: bool) -> list[Seen]:
    rows = await repository.newest_prices(
        session,
        None if asked.everywhere and asked.grades is not None else asked.yards,
        since=since,
        until=asked.on,
        revision=asked.revision,
        grades=asked.grades,
        some_gone=some_gone,
    )
    return [*rows, *(row for row in asked.coming if since <= row.observed_on <= asked.on)]


def _drawn(claimed: Claimed, currency: str, most: int) -> tuple[list[Seen], Sightings, dict[str, int]]:
    """What is claimed of the yards that speak for each grade; of how many they were drawn, where not all do.

    Those that pay in other currencies are drawn apart: they do not count, and are only told of.
    """
    paying: dict[tuple[str, str], set[str]] = {}
    for row in claimed.rows:
        paying.setdefault((row.grade, row.currency), set()).add(row.yard)
    speak = {key: drawn(key[0], yards, most) for key, yards in paying.items()}
    rows = [row for row in claimed.rows if row.yard in speak[row.grade, row.currency]]
    seen = {
        grade: [s for s in seen if s.yard in speak[grade, currency]] for grade, seen in claimed.seen.items()
    }
    many = {key[0]: len(paying[key]) for key in speak if key[1] == currency and len(paying[key]) > most}
    return rows, seen, many


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
