"""Price lists and their history, for a region or a yard, on a day, as known at a revision."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from calendar import monthrange
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from gradewright.core.consensus import Quote, quote
from gradewright.core.errors import CurrencyError, Fault, Refused
from gradewright.core.holding import sifted
from gradewright.core.house_limits import HouseLimit
from gradewright.core.pricelist import PriceList
from gradewright.core.rulebook import Rulebook
from gradewright.core.timeline import days_before
from gradewright.core.units import MassUnit, mass_unit
from gradewright.db.knowing import KnownAt, revision_of
from gradewright.db.session import Database
from gradewright.prices import repository, said
from gradewright.prices.board import Board, Place, in_another_currency
from gradewright.prices.counting import Asked, sightings, standing_of
from gradewright.yards.service import Atlas, YardService

MOST_POINTS = 400
NO_LOT = Decimal(0)


@dataclass(frozen=True, slots=True)
class Point:
    """One day of a series; `quote` is None where nothing counted on that day."""

    on: date
    quote: Quote | None


@dataclass(frozen=True, slots=True)
class Series:
    """The likely price of one grade in one region, day by day, as known at one revision."""

    region: str
    grade: str
    currency: str
    unit: MassUnit
    revision: int
    points: tuple[Point, ...]


class PriceService:
    """Reads the ledger; see `postings.PostingService` for writing to it."""

    def __init__(self, database: Database, yards: YardService, board: Board) -> None:
        self._database = database
        self._yards = yards
        self._board = board

    async def atlas(self) -> Atlas:
        """Regions and yards as they stand."""
        return await self._yards.atlas()

    async def place(self, region: str | None, yard: str | None) -> Place:
        """A region or a yard by name; `Refused` unless exactly one is named, `NotFound` if not there."""
        if (region is None) == (yard is None):
            detail = "Name either a region or a yard: prices are asked for in one place."
            raise Refused(detail, faults=(Fault(detail, ("region",)),))
        atlas = await self.atlas()
        if yard is not None:
            return Place(atlas.yard(yard).region, yard)
        return Place(atlas.region(region or "").code)

    async def limits(self, place: Place, on: date, revision: int | None = None) -> tuple[HouseLimit, ...]:
        """The limits that hold in a place on a day instead of the rulebook's, as known at a revision."""
        return (await self.atlas()).limits(place.region, place.yard, on, revision)

    async def list_for(
        self, place: Place, rulebook: Rulebook, on: date, known_at: KnownAt = None
    ) -> tuple[PriceList, int]:
        """The price list, and the revision that it is known at."""
        if known_at is None:
            return await self._board.newest(place, rulebook, on)
        revision = await self.revision(known_at)
        return await self._board.as_known(place, rulebook, on, revision), revision

    async def known(self, known_at: KnownAt) -> int | None:
        """The revision that is meant by an old one or an instant; None for the newest."""
        return None if known_at is None else await self.revision(known_at)

    async def revision(self, known_at: KnownAt) -> int:
        """The revision that is meant; `Refused` for one that the ledger has not reached."""
        return await revision_of(self._database, known_at)

    async def series(
        self, region: str, grade: str, rulebook: Rulebook, days: list[date], known_at: KnownAt = None
    ) -> Series:
        """The likely price on each of the days, ascending, from the region's own yards."""
        revision = await self.revision(known_at)
        atlas = await self.atlas()
        found = atlas.region(region)
        yards = [yard.slug for yard in atlas.under(found.code, revision)]
        pricing = rulebook.pricing
        stale_after = pricing.stale_after
        since = days_before(days[0], stale_after)
        async with self._database.read() as session:
            rows = await repository.prices_of(
                session, yards, grade, since=since, until=days[-1], revision=revision
            )
            spoken = await said.spoken(session, yards, since=since, until=days[-1], revision=revision)
            asked = Asked(yards, found.currency, days[-1], revision, pricing)
            standing = await standing_of(session, asked)
        other = in_another_currency(rows, found.currency).get(grade)
        if other is not None and all(row.currency != found.currency for row in rows):
            detail = (
                f"{grade} is posted in {found.code} in {other} only, and its series is in {found.currency}: "
                f"nothing is converted. Ask for the price list of a yard that pays in {other}."
            )
            raise CurrencyError(detail, faults=(Fault(detail, ("grade",)),))
        seen = sorted(
            sightings(rows, found.currency).get(grade, ()), key=lambda s: (s.observed_on, s.revision)
        )
        seen_on = [s.observed_on for s in seen]
        points = []
        for day in days:
            # Only the sightings that can count on the day: the series stays linear in its length.
            first = bisect_left(seen_on, days_before(day, stale_after))
            window = seen[first : bisect_right(seen_on, day)]
            held = sifted([s for s in window if not s.from_grams], day, pricing, standing, spoken.said)
            points.append(Point(day, quote(window, day, NO_LOT, pricing, standing, held)))
        return Series(found.code, grade, found.currency, mass_unit(found.unit), revision, tuple(points))


def days_between(first: date, last: date, step: str) -> list[date]:
    """The days of a series, ending on the last; `Refused` where there are none, or too many to answer."""
    if first > last:
        detail = f"The series would begin on {first} and end before, on {last}: exchange the two."
        raise Refused(detail, faults=(Fault(detail, ("from",)),))
    days = [last]
    while len(days) <= MOST_POINTS:
        earlier = _earlier(last, step, len(days))
        if earlier is None or earlier < first:
            return days[::-1]
        days.append(earlier)
    detail = f"The series would have more than {MOST_POINTS} points: take a longer step or a later beginning."
    raise Refused(detail, faults=(Fault(detail, ("step",)),))


def _earlier(last: date, step: str, count: int) -> date | None:
    """The day so many steps before; a month without that day gives its last; None before the calendar."""
    if step != "month":
        ordinal = last.toordinal() - count * (7 if step == "week" else 1)
        return date.fromordinal(ordinal) if ordinal > 0 else None
    year, month = divmod(last.year * 12 + last.month - 1 - count, 12)
    return date(year, month + 1, min(last.day, monthrange(year, month + 1)[1])) if year > 0 else None
