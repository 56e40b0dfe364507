"""What is lost by asking no further: the grades that are left pay differently, and nobody knows which it is.

A part whose grade nobody found out goes with the cheapest that it can be, as a mixed pile does (common
practice, no source); lost is on average what it would have paid more, by how common each grade is. Money is
counted in the minutes of work that it pays for, so that it can be held against the minutes of tests.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from statistics import median_low

from gradewright.core.ahead import FINE
from gradewright.core.prospects import EFFORT, Ends
from gradewright.core.uncertainty import Masses

FREE = 10**6
"""Where time costs nothing, the least that lies between two grades is taken for so many minutes."""

USUAL_KILOGRAMS = 10
"""An hour of which nobody said what it is worth is taken for so many kilograms at the middle price of a place
(a rule of thumb: common practice, no source). A test of a third of a minute then costs a twentieth of what a
kilogram pays at that price.
"""
HOUR = 60


class AtStake:
    """What one part pays as each grade, in minutes of work; whole numbers, for choosing only."""

    __slots__ = ("key", "minute", "pays")

    def __init__(self, pays: Mapping[str, Fraction], minute: Fraction) -> None:
        """`pays`: by grade, in the money of `minute`, which is what a minute of work is worth. Grades that
        have no price are not in it: they could be worth anything.
        """
        fine = EFFORT * FINE / (minute or _least_between(pays.values()) / FREE)
        self.minute = minute
        self.pays = {grade: int(paid * fine) for grade, paid in pays.items()}
        self.key = tuple(self.pays.items())

    def lost(self, ends: Ends, masses: Masses) -> int | None:
        """The mean loss by stopping among these grades, in fine efforts; None where one has no price."""
        known = [self.pays[end] for end in ends if end is not None and end in self.pays]
        if len(known) < len(ends):
            return None
        lowest, size = min(known), sum(masses.values())
        if not size:  # nothing fits: each is as likely
            return sum(known) // len(known) - lowest
        more = (mass * (self.pays[end] - lowest) for end, mass in masses.items() if end is not None and mass)
        return sum(more) // size

    def money(self, efforts: int) -> Fraction:
        """What so many fine efforts cost, in the money of `minute`."""
        return self.minute * minutes(efforts)


def _least_between(pays: Iterable[Fraction]) -> Fraction:
    """The least difference between two that differ; 1 where none do."""
    return min((more - less for less, more in pairwise(sorted(set(pays)))), default=Fraction(1))


def minutes(efforts: int) -> Fraction:
    """Fine efforts as minutes."""
    return Fraction(efforts, EFFORT * FINE)


def usual_hour(worth: Mapping[str, Decimal]) -> Fraction | None:
    """What an hour counts as where nobody said: by prices per kilogram; None where nothing is paid for."""
    paid = sorted(price for price in worth.values() if price > 0)
    return Fraction(median_low(paid)) * USUAL_KILOGRAMS if paid else None
