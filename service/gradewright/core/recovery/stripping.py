"""Selling a cable as it is, or its copper by itself: what the work adds, and how long it may take.

All amounts are exact ratios of minor units. The ends are those of every term: the least share, the lowest
price of copper and the highest of the cable, and the other way round; from-weights are looked up at the
ends. What is not copper is insulation, and what it costs to be rid of that goes off what the copper brings.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from gradewright.core.recovery.measured import Range, exactly

MINUTES_AN_HOUR = 60
PriceAt = Callable[[str, Fraction], Range | None]
"""The price of a grade for a lot of so many grams, in minor units for each gram; None where there is none."""


@dataclass(frozen=True, slots=True)
class Band:
    """Shares of copper, from `low` to `high`, that make one grade of wire."""

    low: Fraction
    high: Fraction
    grade: str


@dataclass(frozen=True, slots=True)
class Work:
    """The lot in grams, and the minutes for all of it; what it costs to be rid of a gram of insulation, and
    of all of it, however much, once.
    """

    grams: Fraction
    minutes: Fraction
    disposal: Fraction = Fraction(0)
    once: Fraction = Fraction(0)

    def insulation(self, share: Fraction) -> Fraction:
        """The grams that are not copper."""
        return (1 - share) * self.grams

    def rid_of(self, share: Fraction) -> Fraction:
        """What it costs to be rid of them."""
        return self.insulation(share) * self.disposal + self.once


@dataclass(frozen=True, slots=True)
class Stripping:
    """What the lot comes to as it is and stripped, and what that adds, less what disposal costs; copper and
    insulation in grams.
    """

    as_is: Range
    stripped: Range
    disposal: Range
    gain: Range
    copper: Range
    insulation: Range
    wire: str
    minutes: Fraction

    @property
    def per_hour(self) -> Range | None:
        """What an hour of it adds; None where it takes no time."""
        if not self.minutes:
            return None
        low, likely, high = (
            gain * MINUTES_AN_HOUR / self.minutes
            for gain in (self.gain.low, self.gain.likely, self.gain.high)
        )
        return Range(low, likely, high)

    def breaks_even(self, hour_rate: Fraction) -> Range | None:
        """The minutes for the lot at which stripping and an hour's worth are the same; never below zero.

        None at a rate of zero: then any time pays, or none, as the gain says.
        """
        if not hour_rate:
            return None
        ends = (self.gain.low, self.gain.likely, self.gain.high)
        low, likely, high = (max(gain, Fraction(0)) * MINUTES_AN_HOUR / hour_rate for gain in ends)
        return Range(low, likely, high)


@dataclass(frozen=True, slots=True)
class NoPrice:
    """A grade that would have to be priced has no price."""

    grade: str


def stripping(
    work: Work, share: Range, bands: Sequence[Band], wire: str, copper: str, price: PriceAt
) -> Stripping | NoPrice:
    """Compares the two.

    `bands` cover the range of the share, `wire` is the grade at the likely one, `copper` that of the bare
    wire.
    """
    shares = {share.low, share.likely, share.high, *(end for band in bands for end in (band.low, band.high))}
    bare: dict[Fraction, Range] = {}
    for at in shares:
        found = price(copper, at * work.grams)
        if found is None:
            return NoPrice(copper)
        bare[at] = exactly(at * work.grams).times(found)
    whole: dict[str, Range] = {}
    for grade in (wire, *(band.grade for band in bands)):
        found = price(grade, work.grams)
        if found is None:
            return NoPrice(grade)
        whole[grade] = exactly(work.grams).times(found)
    pairs = [
        (whole[band.grade], bare[end], work.rid_of(end)) for band in bands for end in (band.low, band.high)
    ]
    as_is, stripped, rid_of = whole[wire].likely, bare[share.likely].likely, work.rid_of(share.likely)
    return Stripping(
        as_is=Range(min(w.low for w, _, _ in pairs), as_is, max(w.high for w, _, _ in pairs)),
        stripped=Range(min(c.low for _, c, _ in pairs), stripped, max(c.high for _, c, _ in pairs)),
        disposal=Range(work.rid_of(share.high), rid_of, work.rid_of(share.low)),
        gain=Range(
            min(c.low - w.high - off for w, c, off in pairs),
            stripped - as_is - rid_of,
            max(c.high - w.low - off for w, c, off in pairs),
        ),
        copper=share.times(exactly(work.grams)),
        insulation=Range(*map(work.insulation, (share.high, share.likely, share.low))),
        wire=wire,
        minutes=work.minutes,
    )


def minutes_by_length(grams: Fraction, per_metre: Decimal, grams_per_metre: Range) -> Fraction:
    """The minutes for a lot whose length is its weight over the likely weight of a metre."""
    return Fraction(per_metre) * grams / grams_per_metre.likely
