"""Measured values with what is not known of them: low, likely and high, as exact ratios.

A reading stands for every value that the instrument shows as the same: half a step of its scale to either
side. Where nobody says what the step is, it is the last digit that was written. Ranges are multiplied and
divided end by end (interval arithmetic), so that no true value is ever outside, and sizes here are never
below zero.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from fractions import Fraction

from gradewright.core.decimals import ROUNDING, refusal
from gradewright.core.errors import Fault, GradewrightError, Refused

Read = Callable[[str], Decimal | Fraction]
"""Reads a measure in its base unit, exactly."""

_LAST = re.compile(
    r".*?(?:[0-9]+/(?P<under>[0-9]+)|[0-9]+(?:\.(?P<places>[0-9]+))?) *(?P<unit>[^0-9 ][^0-9]*)"
)
HALF = Fraction(1, 2)


@dataclass(frozen=True, slots=True)
class Range:
    """Everything from `low` to `high`; `likely` is in between."""

    low: Fraction
    likely: Fraction
    high: Fraction

    def times(self, other: Range) -> Range:
        """The product; neither may reach below zero."""
        return Range(self.low * other.low, self.likely * other.likely, self.high * other.high)

    def over(self, other: Range) -> Range:
        """The quotient; `other` lies above zero."""
        return Range(self.low / other.high, self.likely / other.likely, self.high / other.low)

    def plus(self, other: Range) -> Range:
        """The sum."""
        return Range(self.low + other.low, self.likely + other.likely, self.high + other.high)

    def at_most(self, most: Fraction) -> Range:
        """The same, without what is beyond `most`."""
        return Range(min(self.low, most), min(self.likely, most), min(self.high, most))

    def no_more_than(self, other: Range) -> Range:
        """The same, each of the three cut off at the other's."""
        return Range(min(self.low, other.low), min(self.likely, other.likely), min(self.high, other.high))


def exactly(value: Decimal | int | Fraction) -> Range:
    """A value that is not in doubt."""
    sure = Fraction(value)
    return Range(sure, sure, sure)


def around(likely: Fraction, off: Fraction) -> Range:
    """So much to either side, and never below zero."""
    return Range(max(likely - off, Fraction(0)), likely, likely + off)


def step_of(text: str, read: Read) -> Fraction:
    """How much the last digit of a written measure stands for: of "1.35 kg" 10 g, of "2 lb 3 oz" an ounce.

    In the base unit of `read`, which has read the text before. Raises UnitError where it ends in no unit.
    """
    match = _LAST.fullmatch(text.strip())
    if match is None:
        raise refusal(f"{text!r} does not end with a number and its unit: write, for example, '1.35 kg'.")
    unit = Fraction(read(f"1 {match['unit'].strip()}"))
    parts = int(match["under"] or f"1{'0' * len(match['places'] or '')}")
    return unit / parts


def reading(text: str, read: Read, step: str | None = None) -> Range:
    """What a scale, tape or vessel shows, half a step to either side; `step` is its finest division.

    In the base unit of `read`, whose UnitError says what cannot be read.
    """
    likely = Fraction(read(text))
    one = step_of(text, read) if step is None else Fraction(read(step))
    return around(likely, one * HALF)


@dataclass(slots=True)
class Faults:
    """Everything that is wrong with a request, gathered while it is read."""

    found: list[Fault] = field(default_factory=list)

    def add(self, detail: str, *at: str | int) -> None:
        """One more, and where."""
        self.found.append(Fault(detail, at))

    def reading(
        self, text: str, read: Read, name: str, step: str | None = None, step_name: str = "scale"
    ) -> Range | None:
        """A reading under its name; None where it, or its step, cannot be read."""
        sure = self.value(step, read, step_name) if step is not None else Fraction(0)
        found = self.value(text, read, name)
        return None if found is None or sure is None else reading(text, read, step)

    def value(self, text: str, read: Read, name: str) -> Fraction | None:
        """A measure under its name; None where it cannot be read."""
        try:
            return Fraction(read(text))
        except GradewrightError as error:
            told = (fault.under(name) for fault in error.faults or (Fault(error.detail),))
            self.found += [fault for fault in told if fault not in self.found]  # one scale, two weights
            return None

    def refused(self) -> Refused:
        """All of them, to be raised."""
        return Refused("; ".join(fault.detail for fault in self.found), faults=tuple(self.found))


def rounded_outwards(value: Range, places: int) -> tuple[Decimal, Decimal, Decimal]:
    """Low rounded down, likely to the nearer (even), high up, to so many places: nothing is lost."""
    return (
        rounded(value.low, places, ROUND_FLOOR),
        rounded(value.likely, places),
        rounded(value.high, places, ROUND_CEILING),
    )


def rounded(value: Fraction, places: int, how: str = ROUND_HALF_EVEN) -> Decimal:
    """A ratio as a decimal of so many places, rounded once."""
    scaled = value * 10**places
    whole = scaled.numerator // scaled.denominator
    if how == ROUND_CEILING:
        whole = -(-scaled.numerator // scaled.denominator)
    elif how == ROUND_HALF_EVEN:
        whole = round(scaled)
    return Decimal(whole).scaleb(-places, ROUNDING)
