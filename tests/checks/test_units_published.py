"""Units of mass against their published definitions.

Source: NIST Handbook 44, Appendix C (and NIST SP 811, Appendix B); all of these are exact.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pint
import pytest
from scipy import constants  # type: ignore[import-untyped]

from gradewright.core.errors import UnitError
from gradewright.core.units import MASS_UNITS, mass_unit, parse_mass

REGISTRY: pint.UnitRegistry[float] = pint.UnitRegistry()

KILOGRAMS = {
    "g": "0.001",
    "kg": "1",
    "t": "1000",
    "gr": "0.00006479891",
    "dwt": "0.00155517384",
    "ozt": "0.0311034768",
    "oz": "0.028349523125",
    "lb": "0.45359237",
    "short cwt": "45.359237",
    "long cwt": "50.80234544",
    "short ton": "907.18474",
    "gross ton": "1016.0469088",
}

RELATIONS = [
    ("1 lb", "7000 gr"),
    ("1 oz", "437.5 gr"),
    ("16 oz", "1 lb"),
    ("1 dwt", "24 gr"),
    ("1 ozt", "480 gr"),
    ("1 ozt", "20 dwt"),
    ("12 ozt", "5760 gr"),  # the troy pound, 373.2417216 g
    ("12 ozt", "373.2417216 g"),
    ("1 short cwt", "100 lb"),
    ("1 long cwt", "112 lb"),
    ("1 short ton", "2000 lb"),
    ("1 short ton", "20 short cwt"),
    ("1 gross ton", "2240 lb"),
    ("1 gross ton", "20 long cwt"),
    ("1 t", "1000 kg"),
]

PINT_NAMES = {
    "g": "gram",
    "kg": "kilogram",
    "t": "metric_ton",
    "gr": "grain",
    "dwt": "pennyweight",
    "ozt": "troy_ounce",
    "oz": "ounce",
    "lb": "pound",
    "short cwt": "hundredweight",
    "long cwt": "long_hundredweight",
    "short ton": "ton",
    "gross ton": "long_ton",
}

SCIPY_NAMES = {
    "g": "gram",
    "t": "metric_ton",
    "gr": "grain",
    "ozt": "troy_ounce",
    "oz": "oz",
    "lb": "lb",
    "short ton": "short_ton",
    "gross ton": "long_ton",
}


def test_every_unit_is_checked() -> None:
    """No unit of mass can be added without a published size beside it here."""
    assert KILOGRAMS.keys() == MASS_UNITS.keys() == PINT_NAMES.keys()


@pytest.mark.parametrize(("symbol", "kilograms"), KILOGRAMS.items())
def test_a_unit_has_its_legal_size(symbol: str, kilograms: str) -> None:
    """One of each unit is exactly as many kilograms as Handbook 44 says."""
    assert parse_mass(f"1 {symbol}").grams == parse_mass(f"{kilograms} kg").grams


@pytest.mark.parametrize(("one", "other"), RELATIONS)
def test_units_stand_in_their_legal_relation(one: str, other: str) -> None:
    """The customary units are the multiples of one another that Handbook 44 gives."""
    assert parse_mass(one).grams == parse_mass(other).grams


@pytest.mark.parametrize(("symbol", "name"), PINT_NAMES.items())
def test_a_unit_agrees_with_pint(symbol: str, name: str) -> None:
    """pint, which counts in floats, gives the same size to fifteen digits."""
    grams = REGISTRY.Quantity(1, name).to("gram").magnitude
    assert float(parse_mass(f"1 {symbol}").grams) == pytest.approx(grams, rel=1e-14)


@pytest.mark.parametrize(("symbol", "name"), SCIPY_NAMES.items())
def test_a_unit_agrees_with_scipy(symbol: str, name: str) -> None:
    """scipy.constants, in kilograms and floats, gives the same size to fifteen digits."""
    kilograms = getattr(constants, name)
    assert float(mass_unit(symbol).grams) / 1000 == pytest.approx(kilograms, rel=1e-14)


@pytest.mark.parametrize(
    ("mass", "unit", "published"),
    [
        ("1 lb", "ozt", Fraction(7000, 480)),
        ("1 kg", "ozt", Fraction(Decimal("32.1507465686280"))),
        ("1 kg", "lb", Fraction(Decimal("2.2046226218488"))),
        ("1 t", "short ton", Fraction(Decimal("1.1023113109244"))),
        ("1 t", "gross ton", Fraction(Decimal("0.9842065276111"))),
    ],
)
def test_a_mass_in_another_unit(mass: str, unit: str, published: Fraction) -> None:
    """A mass divided by a unit is the published factor, to all the digits that are published."""
    factor = Fraction(parse_mass(mass).grams) / Fraction(mass_unit(unit).grams)
    assert abs(factor - published) < Fraction(1, 10**13)


def test_a_gram_per_tonne_is_seven_in_240_troy_ounces_per_short_ton() -> None:
    """1 g/t of metal in ore or boards is exactly 7/240 ozt in a short ton."""
    ounces = Fraction(parse_mass("1 g").grams) / Fraction(mass_unit("ozt").grams)
    tons = Fraction(parse_mass("1 t").grams) / Fraction(mass_unit("short ton").grams)
    assert ounces / tons == Fraction(7, 240)


@pytest.mark.parametrize(
    ("text", "meanings"),
    [
        ("3 ton", ("3 short ton", "3 gross ton", "3 t")),
        ("1.5 tons", ("1.5 short ton", "1.5 gross ton", "1.5 t")),
        ("2 cwt", ("2 short cwt", "2 long cwt")),
        ("2 hundredweight", ("2 short cwt", "2 long cwt")),
    ],
)
def test_an_unmodified_ton_or_hundredweight_is_refused(text: str, meanings: tuple[str, ...]) -> None:
    """Handbook 44, note 8, reads a bare ton as 2000 lb; others read 2240 lb or 1000 kg: we ask which."""
    with pytest.raises(UnitError, match="does not say which") as refused:
        parse_mass(text)
    assert refused.value.faults[0].suggestions == meanings
    assert len({parse_mass(meaning).grams for meaning in meanings}) == len(meanings)
