"""Exact figures as they are written in answers: each rounded once, from the exact one."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from math import ceil, floor
from typing import NamedTuple

from gradewright.core.decimals import EXACT, digits_of, plain, trimmed
from gradewright.core.money import TO_WHOLE, Rounding
from gradewright.core.teardown.sized import MINUTES_AN_HOUR
from gradewright.core.teardown.tree import Span
from gradewright.core.units import show_ratio
from gradewright.valuations.amounts import Cents, spelled

GRAMS_A_KILOGRAM = 1000
MILLIGRAMS_A_GRAM = 1000
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
    return digits_of(_milligrams(grams), KILOGRAM_PLACES)


def weight(grams: Fraction) -> dict[str, str]:
    """A weight in kilograms, and in both notations for people."""
    milligrams = _milligrams(grams)
    return {
        "kg": digits_of(milligrams, KILOGRAM_PLACES),
        "shown": show_ratio(milligrams, MILLIGRAMS_A_GRAM),
    }


def weights(grams: Span) -> dict[str, str]:
    """A weight with its range in kilograms."""
    low, likely, high = grams
    told = weight(likely)
    return {
        "low_kg": told["kg"] if low is likely else kilograms(low),
        "high_kg": told["kg"] if high is likely else kilograms(high),
        **told,
    }


def minutes(figure: Fraction) -> str:
    """Minutes, to two places."""
    return minutes_of(figure.numerator, figure.denominator)


def minutes_of(pieces: int, minute: int) -> str:
    """So many pieces of a minute, of which so many are one."""
    return digits_of(_half_even(pieces * 10**MINUTE_PLACES, minute), MINUTE_PLACES)


def _milligrams(grams: Fraction) -> int:
    return _half_even(grams.numerator * MILLIGRAMS_A_GRAM, grams.denominator)


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


def no_more(figure: Fraction) -> str:
    """The same rounded down: up to what something holds."""
    places = 3 if figure < 1 else 2
    return plain(Decimal(floor(figure * 10**places)).scaleb(-places, EXACT))


def _digits(figure: Decimal, digits: int) -> Decimal:
    """So many digits of a figure and no fewer than stand before the point; as it is where it has no more."""
    places = max(digits - 1 - figure.adjusted(), 0)
    shown = rounded(Fraction(figure), places)
    return figure if shown == figure else shown


def percent(share: Fraction) -> str:
    """A change in percent, to one place, with its sign."""
    text = trimmed(rounded(share * 100, 1))
    return f"{text} %" if text.startswith("-") else f"+{text} %"


class Gained(NamedTuple):
    """What some work brings more than the `whole` of what is there without it, and its minutes: in pieces of
    which `size` are a minor unit, and `minute` are one.
    """

    paid: int
    whole: int
    minutes: int
    size: int
    minute: int


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

    def ratio(self, pieces: int, size: int) -> str:
        """So many pieces of a minor unit, of which so many are one, rounded."""
        return spelled(self.to_whole(pieces, size), self.cents)

    def between(self, more: Fraction, less: Fraction) -> str:
        """What one is more than the other, both rounded: what is answered adds up."""
        return spelled(self.minor(more) - self.minor(less), self.cents)

    def up_to(self, rate: Fraction) -> str:
        """A rate up to which something pays, rounded down: never said too high."""
        return spelled(rate.numerator // rate.denominator, self.cents)

    def span(self, minor: Span) -> dict[str, str]:
        """Low, likely and high."""
        return {"low": self.amount(minor[0]), "likely": self.amount(minor[1]), "high": self.amount(minor[2])}

    def comes_to(self, gained: Gained) -> str:
        """What it comes to in all."""
        return self.ratio(gained.paid + gained.whole, gained.size)

    def more(self, gained: Gained, *, less: bool = False) -> str:
        """What that is more (`less`: less), both rounded: what is answered adds up."""
        size = gained.size
        more = self.to_whole(gained.paid + gained.whole, size) - self.to_whole(gained.whole, size)
        return spelled(-more if less else more, self.cents)

    def per_hour(self, gained: Gained) -> str | None:
        """What it comes to by the hour, rounded down; None where it takes no time."""
        if not gained.minutes:
            return None
        over, under = gained.paid * MINUTES_AN_HOUR * gained.minute, gained.size * gained.minutes
        return self.ratio(over, under) if self.nearest else spelled(over // under, self.cents)
