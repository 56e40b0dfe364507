"""Prices per mass, kept as they were posted, and the amounts that weights come to at them."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

from gradewright.core.decimals import EXACT, ROUNDING
from gradewright.core.money import Rounding, rounding_to

_multiply, _divide = EXACT.multiply, ROUNDING.divide


@dataclass(frozen=True, slots=True)
class Rate:
    """A price for so many grams, kept as posted: no amount is ever computed from a rounded price."""

    price: Decimal
    per_grams: Decimal

    def times(self, factor: Decimal) -> Rate:
        """The same rate multiplied; exact."""
        return Rate(EXACT.multiply(self.price, factor), self.per_grams)

    def per(self, grams: Decimal) -> Decimal:
        """The price for another mass, to 80 digits."""
        return ROUNDING.divide(EXACT.multiply(self.price, grams), self.per_grams)


class Amount(NamedTuple):
    """Low, likely and high in one currency, each rounded once."""

    low: Decimal
    likely: Decimal
    high: Decimal


class Payer:
    """Rounds amounts in one currency by one rule: `round_money(amount_for(...))`, looked up once."""

    __slots__ = ("_mode", "_step")

    def __init__(self, currency: str, rule: Rounding) -> None:
        self._step, self._mode = rounding_to(currency, rule)

    def amount(self, low: Rate, likely: Rate, high: Rate, grams: Decimal) -> Amount:
        """What a weight comes to at three rates."""
        step, mode = self._step, self._mode
        least = _divide(_multiply(low.price, grams), low.per_grams).quantize(step, mode, ROUNDING)
        middle = _divide(_multiply(likely.price, grams), likely.per_grams).quantize(step, mode, ROUNDING)
        most = _divide(_multiply(high.price, grams), high.per_grams).quantize(step, mode, ROUNDING)
        if least and middle and most:
            return Amount(least, middle, most)
        return Amount(_unsigned(least), _unsigned(middle), _unsigned(most))


def _unsigned(amount: Decimal) -> Decimal:
    """Nothing has no sign."""
    return amount if amount else amount.copy_abs()
