"""Amounts as a valuation works them out, as decimals."""

from __future__ import annotations

from decimal import Decimal

from gradewright.core.money import Rounding, minor_as_decimal
from gradewright.core.rates import Payer, Rate, scale

GRAM = Decimal(1)


def amount(
    price: Decimal, per_grams: Decimal, grams: Decimal, code: str, rule: Rounding = Rounding.HALF_EVEN
) -> Decimal:
    """What a mass comes to at a price, rounded once."""
    rate = Rate(price, per_grams)
    paid = Payer(rule).amount(scale(rate, rate, rate, code), grams.as_integer_ratio())
    assert paid.low == paid.likely == paid.high
    return minor_as_decimal(paid.likely, code)


def rounded(exact: Decimal, code: str, rule: Rounding = Rounding.HALF_EVEN) -> Decimal:
    """An amount rounded to the currency's minor unit: that of one gram at this price a gram."""
    return amount(exact, GRAM, GRAM, code, rule)
