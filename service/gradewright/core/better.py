"""Better prices for larger lots, yard by yard: what a pile that is short of one could be held for."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from gradewright.core.rates import Rate


@dataclass(frozen=True, slots=True)
class Step:
    """A yard's price of a grade from a weight on (`written`: as posted), and the lower one below it."""

    yard: str
    name: str
    from_grams: Decimal
    written: str
    before: Rate
    after: Rate


def steps_of(tiers: Iterable[tuple[Decimal, str | None, Rate]], yard: str, name: str) -> tuple[Step, ...]:
    """The steps of one yard's prices of a grade, which are given by from-weight, ascending.

    A from-weight that pays no better than what holds below it is no step, nor is one below which the yard
    has posted nothing.
    """
    found: list[Step] = []
    before: Rate | None = None
    for from_grams, written, rate in tiers:
        if before is not None and written is not None and exact(rate, 1) > exact(before, 1):
            found.append(Step(yard, name, from_grams, written, before, rate))
        before = rate
    return tuple(found)


def exact(rate: Rate, per_unit: int) -> Fraction:
    """The price of one gram, in so many parts of the currency's unit."""
    return Fraction(*rate.ratio(per_unit))
