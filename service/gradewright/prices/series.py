"""The price of one grade over time: in a region or at a yard, day by day, as known at a revision.

Each point is what the price list of its day says of the grade from the place's own yards, by the rulebook of
that day, and none where that list has none of them: what waits, and what the place does not take, leaves a
gap.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import partial

from gradewright.benchmarks.service import BenchmarkService, ages
from gradewright.core.aging import Aging
from gradewright.core.consensus import Quote, Sighting, quote
from gradewright.core.errors import CurrencyError, Fault
from gradewright.core.holding import sifted
from gradewright.core.rulebook import Rulebook
from gradewright.core.timeline import days_before
from gradewright.core.units import MassUnit, mass_unit
from gradewright.db.knowing import KnownAt, revision_of
from gradewright.db.session import Database
from gradewright.prices import repository, said
from gradewright.prices.board import Place, in_another_currency
from gradewright.prices.counting import NO_LOT, Asked, aside, sightings, standing_of
from gradewright.prices.repository import Seen
from gradewright.prices.said import Spoken
from gradewright.yards.service import Atlas, YardService

Days = Mapping[date, Rulebook | None]
"""The days of a series, ascending, each with the rulebook in force on it."""


@dataclass(frozen=True, slots=True)
class Point:
    """One day of a series, and the version in force on it; `quote` is None where nothing counted."""

    on: date
    quote: Quote | None
    rulebook: str | None


@dataclass(frozen=True, slots=True)
class Series:
    """The price of one grade in one place, day by day, as known at one revision.

    `called`: the place's name; `lot_grams`: the weight of the lot, 0 for the price of any.
    """

    place: Place
    called: str
    grade: str
    currency: str
    unit: MassUnit
    revision: int
    points: tuple[Point, ...]
    lot_grams: Decimal = NO_LOT


@dataclass(frozen=True, slots=True)
class _By:
    """How prices age, and how much their authors weigh, by one version of the rulebook."""

    aging: Aging
    standing: Mapping[str, Decimal]


@dataclass(frozen=True, slots=True)
class _Judged:
    """What the points are computed from: all that was seen in the region, ascending by day, and of whom."""

    seen: Sequence[Sighting]
    seen_on: Sequence[date]
    by: Mapping[str, _By]
    """By version of the rulebook."""
    spoken: Spoken
    grade: str
    yard: str | None
    lot_grams: Decimal
    refused: Collection[date]

    def window(self, day: date, rulebook: Rulebook | None) -> Sequence[Sighting]:
        """Only what can count on the day: the series stays linear in its length."""
        if rulebook is None or self.grade not in rulebook.grades or day in self.refused:
            return ()
        first = bisect_left(self.seen_on, days_before(day, rulebook.pricing.stale_after))
        return self.seen[first : bisect_right(self.seen_on, day)]

    def point(self, day: date, rulebook: Rulebook | None) -> Point:
        """The price on a day. A yard's prices are judged among those of its region, as in its price list."""
        window = self.window(day, rulebook)
        if rulebook is None or not window:
            return Point(day, None, rulebook.version if rulebook else None)
        pricing, by = rulebook.pricing, self.by[rulebook.version]
        window, standing = by.aging.aged(self.grade, window, day), by.standing
        reached = [s for s in window if s.from_grams <= self.lot_grams]
        held = sifted(reached, day, pricing, standing, self.spoken.said)
        own = window if self.yard is None else [s for s in window if s.yard == self.yard]
        return Point(day, quote(own, day, self.lot_grams, pricing, standing, held), rulebook.version)

    def points(self, days: Days) -> tuple[Point, ...]:
        """The price on each of the days."""
        return tuple(self.point(day, rulebook) for day, rulebook in days.items())


class SeriesService:
    """Reads the ledger, for one grade over a span."""

    def __init__(self, database: Database, yards: YardService, benchmarks: BenchmarkService) -> None:
        self._database = database
        self._yards = yards
        self._benchmarks = benchmarks

    async def of(
        self,
        place: Place,
        grade: str,
        days: Days,
        known_at: KnownAt = None,
        lot_grams: Decimal = NO_LOT,
    ) -> Series:
        """The price for a lot on each of the days, from the place's own yards."""
        revision = await revision_of(self._database, known_at)
        atlas = await self._yards.atlas()
        yard = None if place.yard is None else atlas.yard(place.yard, revision)
        terms = atlas.region(place.region) if yard is None else yard
        yards = [found.slug for found in atlas.under(place.region, revision)]
        since, until = _reach(days)
        benchmarks = await self._benchmarks.all()
        by: dict[str, _By] = {}
        async with self._database.read() as session:
            rows = await repository.prices_of(
                session, yards, grade, since=since, until=until, revision=revision
            )
            spoken = await said.spoken(session, yards, since=since, until=until, revision=revision)
            for rulebook in _versions(days):
                aging = ages(rulebook, benchmarks, revision)
                asked = Asked(yards, terms.currency, until, revision, rulebook.pricing, aging)
                by[rulebook.version] = _By(aging, await standing_of(session, asked))
        own = rows if yard is None else [row for row in rows if row.yard == yard.slug]
        _check_currency(own, grade, place.yard or place.region, terms.currency)
        seen = sorted(
            sightings(rows, terms.currency).get(grade, ()), key=lambda s: (s.observed_on, s.revision)
        )
        seen_on = [s.observed_on for s in seen]
        refused = frozenset(_refused(atlas, place, grade, days, revision))
        judged = _Judged(seen, seen_on, by, spoken, grade, place.yard, lot_grams, refused)
        work = sum(len(judged.window(day, rulebook)) for day, rulebook in days.items())
        points = await aside(work, partial(judged.points, days))
        unit = mass_unit(terms.unit)
        return Series(place, terms.name, grade, terms.currency, unit, revision, points, lot_grams)

    async def known(self, known_at: KnownAt) -> int | None:
        """The revision that is meant by an old one or an instant; None for the newest."""
        return None if known_at is None else await revision_of(self._database, known_at)

    async def region(self, code: str) -> Place:
        """A region by its code. Raises `UnknownRegion`."""
        return Place((await self._yards.atlas()).region(code).code)

    async def yard(self, slug: str) -> Place:
        """A yard by its slug. Raises `UnknownYard`."""
        found = (await self._yards.atlas()).yard(slug)
        return Place(found.region, found.slug)


def _versions(days: Days) -> Collection[Rulebook]:
    """The versions in force on the days, each once."""
    return {rulebook.version: rulebook for rulebook in days.values() if rulebook is not None}.values()


def _reach(days: Days) -> tuple[date, date]:
    """The first and the last day of which a price can count on one of the days."""
    stale_after = max((rulebook.pricing.stale_after for rulebook in _versions(days)), default=0)
    return days_before(min(days), stale_after), max(days)


def _refused(atlas: Atlas, place: Place, grade: str, days: Collection[date], revision: int) -> Iterator[date]:
    """The days on which the place does not take the grade."""
    speakers = atlas.speakers(place.region, place.yard, revision)
    if any(said.grade == grade for speaker in speakers for said in speaker.rules.refusals):
        for day in days:
            if grade in atlas.refusals(place.region, place.yard, day, revision):
                yield day


def _check_currency(rows: Collection[Seen], grade: str, place: str, currency: str) -> None:
    """Raises CurrencyError where the grade is posted there in other currencies only."""
    other = in_another_currency(rows, currency).get(grade)
    if other is None or any(row.currency == currency for row in rows):
        return
    detail = (
        f"{grade} is posted in {place} in {other} only, and its series is in {currency}: nothing is "
        f"converted. Ask for the series of a yard that pays in {other}."
    )
    raise CurrencyError(detail, faults=(Fault(detail, ("grade",)),))
