"""Prices from one unit of mass to another, contracts of the metal exchanges, and printed surcharges."""

from __future__ import annotations

from decimal import Decimal

import pytest
from tests.core.amounts import amount, rounded

from gradewright.core.money import Rounding
from gradewright.core.rates import Rate
from gradewright.core.units import mass_unit, parse_mass

# Worked out from the exact unit factors of NIST Handbook 44, Appendix C, to the digits printed.
CONVERSIONS = [
    ("1", "lb", "t", "2204.622621848775807"),
    ("3.50", "lb", "t", "7716.1792"),
    ("0.85", "lb", "t", "1873.9292"),
    ("0.12", "lb", "t", "264.5547"),
    ("9500", "t", "lb", "4.30913"),
    ("350", "gross ton", "t", "344.4723"),
    ("350", "gross ton", "short ton", "312.50"),
    ("350", "gross ton", "lb", "0.15625"),
    ("350", "gross ton", "short cwt", "15.625"),
    ("100", "gross ton", "t", "98.4207"),
    ("1", "gross ton", "t", "0.984206527611"),
    ("1", "short ton", "t", "1.102311310924388"),
    ("2000", "ozt", "g", "64.30149"),
    ("2000", "ozt", "kg", "64301.49"),
]


@pytest.mark.parametrize(("price", "per", "other", "published"), CONVERSIONS)
def test_a_price_per_another_unit(price: str, per: str, other: str, published: str) -> None:
    """A price for one unit is the published price for another, to every digit that was published."""
    converted = Rate(Decimal(price), mass_unit(per).grams).per(mass_unit(other).grams)
    assert converted.quantize(Decimal(published)) == Decimal(published)


def test_a_price_printed_in_the_press_was_not_converted_exactly() -> None:
    """A press line put 4.7620 USD/lb at 10,476 USD/t; the pound makes it 10,498.41, 0.21 % more."""
    exact = Rate(Decimal("4.7620"), mass_unit("lb").grams).per(mass_unit("t").grams)
    assert rounded(exact, "USD") == Decimal("10498.41")
    assert round((Decimal(10476) / exact - 1) * 100, 2) == Decimal("-0.21")


# LME copper and aluminium: lots of 25 t, USD/t, tick 0.50. COMEX copper: 25,000 lb, USD/lb, tick 0.0005.
# COMEX gold 100 ozt with a tick of 0.10 is from memory.
@pytest.mark.parametrize(
    ("lot", "per", "price", "contract"),
    [
        ("25 t", "t", "0.50", "12.50"),
        ("25 t", "t", "9500", "237500.00"),
        ("25000 lb", "lb", "0.0005", "12.50"),
        ("25000 lb", "lb", "4.3091", "107727.50"),
        ("100 ozt", "ozt", "0.10", "10.00"),
    ],
)
def test_an_exchange_lot_at_a_price(lot: str, per: str, price: str, contract: str) -> None:
    """A lot times its tick, or a price, is the amount that the exchange's contract says."""
    paid = amount(Decimal(price), mass_unit(per).grams, parse_mass(lot).grams, "USD")
    assert paid == Decimal(contract)


def test_a_comex_copper_lot_in_tonnes() -> None:
    """25,000 lb are exactly 11.33980925 t."""
    assert parse_mass("25000 lb").grams == parse_mass("11.33980925 t").grams


# Cable makers' own worked examples of the copper surcharge: copper in the length sold x (quotation - base)
# per 100 kg. Each is as the maker prints it; the last one's maker cut the digits off.
@pytest.mark.parametrize(
    ("copper", "per_100_kg", "rule", "printed"),
    [
        ("260 kg", "150", Rounding.HALF_EVEN, "390.00"),  # igus: 300 - 150
        ("23.8 kg", "44.29", Rounding.HALF_EVEN, "10.54"),  # Murrelektronik: 194.29 - 150
        ("2.57 kg", "380.25", Rounding.HALF_EVEN, "9.77"),  # kabeltronik: 525 + 1 % - 150, for 100 m
        ("8.90 kg", "506.50", Rounding.DOWN, "45.07"),  # medikabel: 650 + 1 % - 150, cut
        ("8.90 kg", "506.50", Rounding.HALF_UP, "45.08"),  # the same, rounded
    ],
)
def test_a_printed_copper_surcharge(copper: str, per_100_kg: str, rule: Rounding, printed: str) -> None:
    """Mass times price, rounded once by the named rule, is what the maker prints."""
    paid = amount(Decimal(per_100_kg), parse_mass("100 kg").grams, parse_mass(copper).grams, "EUR", rule)
    assert paid == Decimal(printed)
