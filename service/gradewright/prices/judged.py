"""What was seen of one grade in a region, judged day by day, each by the rulebook of its day."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from gradewright.core.aging import Aging
from gradewright.core.consensus import Quote
from gradewright.core.holding import Sifted, marked, sifted
from gradewright.core.nobody_alone import quoted
from gradewright.core.rulebook import Rulebook
from gradewright.core.sightings import Entry, Sighting
from gradewright.core.timeline import days_before
from gradewright.prices.said import Spoken

Days = Mapping[date, Rulebook | None]
"""The days of a series, ascending, each with the rulebook in force on it."""


@dataclass(frozen=True, slots=True)
class Point:
    """One day of a series, and the version in force on it; `quote` is None where nothing counted."""

    on: date
    quote: Quote | None
    rulebook: str | None


@dataclass(frozen=True, slots=True)
class Weighed:
    """How prices age, and how much their authors weigh, by one version of the rulebook."""

    aging: Aging
    standing: Mapping[str, Decimal]


@dataclass(frozen=True, slots=True)
class Judged:
    """What the points are computed from: all that was seen in the region, ascending by day, and of whom."""

    seen: Sequence[Sighting]
    seen_on: Sequence[date]
    by: Mapping[str, Weighed]
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
        sifted_out = self._sifted(window, day, rulebook)
        own = [s for s in window if s.yard == self.yard] if self.yard is not None else window
        seen, gone = marked(own, sifted_out.borne_out), sifted_out.gone
        found = quoted(seen, day, self.lot_grams, pricing, standing, gone, self.spoken.said)
        return Point(day, found, rulebook.version)

    def held(self, day: date, rulebook: Rulebook | None) -> Collection[Entry]:
        """What does not count on a day of all that was seen by then."""
        if rulebook is None:
            return ()
        by = self.by[rulebook.version]
        return self._sifted(by.aging.aged(self.grade, self.window(day, rulebook), day), day, rulebook).gone

    def _sifted(self, window: Sequence[Sighting], day: date, rulebook: Rulebook) -> Sifted:
        reached = [s for s in window if s.from_grams <= self.lot_grams]
        standing = self.by[rulebook.version].standing
        return sifted(reached, day, rulebook.pricing, standing, self.spoken.said)

    def points(self, days: Days) -> tuple[Point, ...]:
        """The price on each of the days."""
        return tuple(self.point(day, rulebook) for day, rulebook in days.items())


def versions(days: Days) -> Collection[Rulebook]:
    """The versions in force on the days, each once."""
    return {rulebook.version: rulebook for rulebook in days.values() if rulebook is not None}.values()


def reach(days: Days) -> tuple[date, date]:
    """The first and the last day of which a price can count on one of the days."""
    stale_after = max((rulebook.pricing.stale_after for rulebook in versions(days)), default=0)
    return days_before(min(days), stale_after), max(days)
