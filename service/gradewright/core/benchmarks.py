"""Benchmark series: what a market quoted, day by day, kept to move prices that were seen some time ago."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class Reading:
    """The value of a benchmark on a day, as it was recorded at a revision."""

    on: date
    value: Decimal
    revision: int = 0


@dataclass(frozen=True, slots=True)
class Curve:
    """A benchmark as known at a revision: one value for each of its days, ascending."""

    benchmark: str
    days: tuple[date, ...]
    values: tuple[Decimal, ...]

    def at(self, day: date, stale_after: int | None = None) -> Reading | None:
        """The newest value on the day or before, no older than `stale_after` days; None if there is none."""
        place = bisect_right(self.days, day) - 1
        if place < 0 or (stale_after is not None and (day - self.days[place]).days > stale_after):
            return None
        return Reading(self.days[place], self.values[place])


def curve(benchmark: str, readings: Iterable[Reading], revision: int | None = None) -> Curve:
    """The benchmark as known at a revision (None: the newest): of two values of one day the later said."""
    known: dict[date, Reading] = {}
    for reading in readings:
        if revision is not None and reading.revision > revision:
            continue
        other = known.get(reading.on)
        if other is None or reading.revision >= other.revision:
            known[reading.on] = reading
    days = tuple(sorted(known))
    return Curve(benchmark, days, tuple(known[day].value for day in days))
