"""Exact figures as they are written in answers: each rounded once, from the exact one."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from math import ceil

from gradewright.core.decimals import EXACT, plain, trimmed
from gradewright.core.money import TO_WHOLE, Rounding
from gradewright.core.teardown.tree import MINUTES_AN_HOUR, Span, Worth
from gradewright.core.units import show_mass
from gradewright.valuations.amounts import Cents, spelled

GRAMS_A_KILOGRAM = 1000
KILOGRAM_PLACES = 6  # to the milligram
MINUTE_PLACES = 2
DIGITS = 3  # of a figure in a sentence
_half_even = TO_WHOLE[Rounding.HALF_EVEN]


def rounded(figure: Fraction, places: int) -> Decimal:
    """A figure to so many places, halves to the even digit."""
    scaled = figure * 10**places
    return Decimal(_half_even(scaled.numerator, scaled.denominator)).scaleb(-places, EXACT)


def kilograms(grams: Fraction) -> str:
    """A weight in kilograms, to the milligram."""
    return trimmed(rounded(grams / GRAMS_A_KILOGRAM, KILOGRAM_PLACES))


def weight(grams: Fraction) -> dict[str, str]:
    """A weight in kilograms, and in both notations for people."""
    return {"kg": kilograms(grams), "shown": show_mass(rounded(grams, 3))}


def weights(grams: Span) -> dict[str, str]:
    """A weight with its range in kilograms."""
    return {
        "low_kg": kilograms(grams.low),
        "high_kg": kilograms(grams.high),
        **weight(grams.likely),
    }


def minutes(figure: Fraction) -> str:
    """Minutes, to two places."""
    return trimmed(rounded(figure, MINUTE_PLACES))


def for_people(now: str, becomes: str) -> tuple[str, str]:
    """Two figures in three digits each; in as many more as it takes to tell one from the other."""
    for digits in range(DIGITS, max(len(now), len(becomes))):
        first, second = (_digits(Decimal(figure), digits) for figure in (now, becomes))
        if first != second:
            return plain(first), plain(second)
    return now, becomes


def no_less(figure: Fraction) -> str:
    """A price above zero, to a hundredth and below one to a thousandth, rounded up: what is said to be more
    than it is.
    """
    places = 3 if figure < 1 else 2
    return plain(Decimal(ceil(figure * 10**places)).scaleb(-places, EXACT))


def _digits(figure: Decimal, digits: int) -> Decimal:
    """So many digits of a figure and no fewer than stand before the point; as it is where it has no more."""
    places = max(digits - 1 - figure.adjusted(), 0)
    shown = rounded(Fraction(figure), places)
    return figure if shown == figure else shown


def percent(share: Fraction) -> str:
    """A change in percent, to one place, with its sign."""
    text = trimmed(rounded(share * 100, 1))
    return f"{text} %" if text.startswith("-") else f"+{text} %"


class Purse:
    """Writes money of one currency, rounded by the rule of the place; rates are never said too high.

    `nearest`: what something comes to by the hour was rounded as amounts are, by methods 1 and 2.
    """

    __slots__ = ("cents", "currency", "nearest", "to_whole")

    def __init__(self, currency: str, cents: Cents, rule: Rounding, *, nearest: bool = False) -> None:
        self.currency, self.cents, self.to_whole = currency, cents, TO_WHOLE[rule]
        self.nearest = nearest

    def minor(self, minor: Fraction) -> int:
        """So many minor units, rounded to whole ones."""
        return self.to_whole(minor.numerator, minor.denominator)

    def amount(self, minor: Fraction) -> str:
        """So many minor units, rounded."""
        return spelled(self.minor(minor), self.cents)

    def between(self, more: Fraction, less: Fraction) -> str:
        """What one is more than the other, both rounded: what is answered adds up."""
        return spelled(self.minor(more) - self.minor(less), self.cents)

    def up_to(self, rate: Fraction) -> str:
        """A rate up to which something pays, rounded down: never said too high."""
        return spelled(rate.numerator // rate.denominator, self.cents)

    def span(self, minor: Span) -> dict[str, str]:
        """Low, likely and high."""
        return {name: self.amount(getattr(minor, name)) for name in ("low", "likely", "high")}

    def per_hour(self, gain: Worth) -> str | None:
        """What it comes to by the hour; None where it takes no time."""
        if not gain.minutes:
            return None
        hourly = gain.paid * MINUTES_AN_HOUR / gain.minutes
        return self.amount(hourly) if self.nearest else self.up_to(hourly)
