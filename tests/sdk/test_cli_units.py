"""The units in which the command line tells prices are those of the service."""

from __future__ import annotations

from decimal import Decimal

from gradewright.core.units import MASS_UNITS
from gradewright_sdk.cli._units import KILOGRAMS


def test_the_client_knows_each_unit_of_the_service() -> None:
    """Every unit in which a price can be posted has its exact size in the client too."""
    assert {symbol: kilograms * 1000 for symbol, kilograms in KILOGRAMS.items()} == {
        symbol: unit.grams for symbol, unit in MASS_UNITS.items()
    }
    assert KILOGRAMS["lb"] == Decimal("0.45359237")
