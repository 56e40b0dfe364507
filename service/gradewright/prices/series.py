"""The price of one grade over time: in a region or at a yard, day by day, as known at a revision.

Each point is what the price list of its day says of the grade from the place's own yards, by the rulebook of
that day, and none where that list has none of them: what waits, and what the place does not take, leaves a
gap.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import partial

from gradewright.benchmarks.service import BenchmarkService, ages
from gradewright.core.errors import CurrencyError, Fault
from gradewright.core.units import MassUnit, mass_unit
from gradewright.db.knowing import KnownAt, revision_of
from gradewright.db.session import Database
from gradewright.prices import repository, said
from gradewright.prices.board import Place, in_another_currency
from gradewright.prices.counting import NO_LOT, Asked, aside, everybody, sightings, standing_of
from gradewright.prices.judged import Days, Judged, Point, Weighed, reach, versions
from gradewright.prices.repository import Seen
from gradewright.yards.service import Atlas, YardService


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
        since, until = reach(days)
        benchmarks = await self._benchmarks.all()
        by: dict[str, Weighed] = {}
        async with self._database.read() as session:
            rows = await repository.prices_of(
                session, yards, grade, since=since, until=until, revision=revision
            )
            spoken = await said.spoken(session, yards, since=since, until=until, revision=revision)
            for rulebook in versions(days):
                aging = ages(rulebook, benchmarks, revision)
                asked = Asked(yards, terms.currency, until, revision, rulebook.pricing, aging)
                standing = await everybody(session, asked, await standing_of(session, asked), rows, spoken)
                by[rulebook.version] = Weighed(aging, standing)
        own = rows if yard is None else [row for row in rows if row.yard == yard.slug]
        _check_currency(own, grade, place.yard or place.region, terms.currency)
        seen = sorted(
            sightings(rows, terms.currency).get(grade, ()), key=lambda s: (s.observed_on, s.revision)
        )
        seen_on = [s.observed_on for s in seen]
        refused = frozenset(_refused(atlas, place, grade, days, revision))
        judged = Judged(seen, seen_on, by, spoken, grade, place.yard, lot_grams, refused)
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
