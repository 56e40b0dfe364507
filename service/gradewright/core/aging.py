"""Prices that age: what was seen some days ago, moved as far as its benchmark has moved since.

    moved = seen x (1 + share x (after / before - 1))

*before* and *after* are the benchmark's newest values on the day on which the price was seen and on the day
that is asked for; *share* is how much of a market's move a yard passes on, as the grade's `follows` says.
Only the benchmark's own movement counts: its currency and unit need not be the yard's, and nothing is
converted. A price stands as it was seen where the value of its own day is missing or stale, and where it is
no price but a charge; where the benchmark is kept no longer it moves as far as is known. Common practice in
formula pricing, no source; a backtest measures whether it helps.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from gradewright.core.benchmarks import Curve, Reading
from gradewright.core.decimals import EXACT, ROUNDING, trimmed_to
from gradewright.core.movement import Movement
from gradewright.core.rates import Rate
from gradewright.core.rulebook import Follows, Rulebook
from gradewright.core.sightings import Sighting

ONE = Decimal(1)
STEP = Decimal("1E-12")  # what a price is multiplied by is rounded there, to be the same on every machine


@dataclass(frozen=True, slots=True)
class Aging:
    """Which grade follows which benchmark, as known at a revision. Without benchmarks nothing moves."""

    follows: Mapping[str, tuple[Follows, Curve]] = field(default_factory=dict)
    stale_after: int = 0

    def aged(self, grade: str, sightings: Sequence[Sighting], on: date) -> Sequence[Sighting]:
        """What was seen of a grade, each price moved from its day to the day `on`."""
        found = self.follows.get(grade)
        if found is None:
            return sightings
        follows, curve = found
        after = curve.at(on)
        if after is None:
            return sightings
        moves = {
            day: (before, after, _times(follows, before, after))
            for day in {s.observed_on for s in sightings}
            if (before := curve.at(day, self.stale_after)) is not None and before.on < after.on
        }
        return [_moved(s, follows, *moves[s.observed_on]) if s.observed_on in moves else s for s in sightings]


NOTHING_AGES = Aging()


def aging(rulebook: Rulebook, curves: Mapping[str, Curve]) -> Aging:
    """How the prices of a version's grades age with the benchmarks that there are, by their slugs."""
    rules = rulebook.pricing.benchmarks
    if rules is None:
        return NOTHING_AGES
    follows = {
        slug: (grade.follows, curves[grade.follows.benchmark])
        for slug, grade in rulebook.grades.items()
        if grade.follows is not None and grade.follows.benchmark in curves
    }
    return Aging(follows, rules.stale_after)


def _times(follows: Follows, before: Reading, after: Reading) -> Decimal:
    change = EXACT.subtract(ROUNDING.divide(after.value, before.value).quantize(STEP, context=ROUNDING), ONE)
    return EXACT.add(ONE, EXACT.multiply(follows.share, change)).quantize(STEP, context=ROUNDING)


def _moved(s: Sighting, follows: Follows, before: Reading, after: Reading, times: Decimal) -> Sighting:
    if times == ONE or s.rate.price <= 0:
        return s
    price = trimmed_to(EXACT.multiply(s.rate.price, times), s.rate.price)
    moved = Movement(follows.benchmark, follows.share, before, after, times, s.rate, s.observed_on)
    return s._replace(rate=Rate(price, s.rate.per_grams), moved=moved)
