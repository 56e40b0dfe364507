"""Prices per mass, kept as they were posted, and the amounts that weights come to at them.

Exact: a rate is a pair of decimals, its use a ratio of whole numbers, and only the amount is rounded, once.
"""

from __future__ import annotations

from decimal import Decimal
from functools import lru_cache
from math import gcd, lcm
from typing import NamedTuple

from gradewright.core.decimals import EXACT, ROUNDING
from gradewright.core.money import TO_WHOLE, Rounding, minor_per_unit

GRAM = Decimal(1)

made = tuple.__new__
"""A named tuple of its fields, twice as quick as calling its class: for what is made for every part."""

Ratio = tuple[int, int]
"""A number as whole numbers: so many, divided by so many (never by zero or less)."""


class Rate(NamedTuple):
    """A price for so many grams, kept as posted: no amount is ever computed from a rounded price."""

    price: Decimal
    per_grams: Decimal

    def times(self, factor: Decimal) -> Rate:
        """The same rate multiplied; exact."""
        return Rate(EXACT.multiply(self.price, factor), self.per_grams)

    def per(self, grams: Decimal) -> Decimal:
        """The price for another mass, to 100 digits."""
        return ROUNDING.divide(EXACT.multiply(self.price, grams), self.per_grams)

    def ratio(self, minor: int) -> Ratio:
        """Minor units of the currency for each gram; `minor`: how many of them are one of the currency."""
        price, price_under = self.price.as_integer_ratio()
        grams, grams_under = self.per_grams.as_integer_ratio()
        over, under = price * minor * grams_under, price_under * grams
        common = gcd(over, under)
        return over // common, under // common


class Scale(NamedTuple):
    """Three rates in minor units for each gram: three whole numbers, all divided by `under`."""

    low: int
    likely: int
    high: int
    under: int


def scale(low: Rate, likely: Rate, high: Rate, currency: str) -> Scale:
    """The three rates, ready to be multiplied. Raises CurrencyError for an unknown currency."""
    minor = minor_per_unit(currency)
    ratios = (low.ratio(minor), likely.ratio(minor), high.ratio(minor))
    under = lcm(*(divisor for _, divisor in ratios))
    at_low, at_likely, at_high = (over * (under // divisor) for over, divisor in ratios)
    return Scale(at_low, at_likely, at_high, under)


class Amount(NamedTuple):
    """Low, likely and high in whole minor units of one currency, each rounded once."""

    low: int
    likely: int
    high: int


class Payer:
    """Rounds amounts by one rule."""

    __slots__ = ("_to_whole",)

    def __init__(self, rule: Rounding) -> None:
        self._to_whole = TO_WHOLE[rule]

    def amount(self, scale: Scale, grams: Ratio) -> Amount:
        """What a mass comes to at three rates."""
        low, likely, high, under = scale
        mass, parts = grams
        to_whole, under = self._to_whole, under * parts
        paid = to_whole(low * mass, under), to_whole(likely * mass, under), to_whole(high * mass, under)
        return made(Amount, paid)


@lru_cache(maxsize=32768)
def by_price(rate: Rate) -> tuple[Decimal, Decimal]:
    """What rates are put in order by: the price for a gram; of equal ones the mass that they are told for."""
    return rate.per(GRAM), rate.per_grams
