"""Prices per kilogram, as answers have them, told per the unit in which somebody posted theirs."""

from __future__ import annotations

from decimal import Decimal

from gradewright_sdk._money import Money
from gradewright_sdk.cli._show import rate

# Exact sizes of the units of prices (NIST Handbook 44, appendix C); a test holds them to the service's.
KILOGRAMS = {
    "g": Decimal("0.001"),
    "kg": Decimal(1),
    "t": Decimal(1000),
    "gr": Decimal("0.00006479891"),
    "dwt": Decimal("0.00155517384"),
    "ozt": Decimal("0.0311034768"),
    "oz": Decimal("0.028349523125"),
    "lb": Decimal("0.45359237"),
    "short cwt": Decimal("45.359237"),
    "long cwt": Decimal("50.80234544"),
    "short ton": Decimal("907.18474"),
    "gross ton": Decimal("1016.0469088"),
}


def told_per(unit: str, per_kilogram: Money) -> str:
    """A price per kilogram as one per another unit, "3.30 USD/lb"; per kilogram where the unit is unknown."""
    size = KILOGRAMS.get(unit)
    if size is None:
        return f"{rate(per_kilogram)} {per_kilogram.currency}/kg"
    return f"{rate(per_kilogram * size)} {per_kilogram.currency}/{unit}"
