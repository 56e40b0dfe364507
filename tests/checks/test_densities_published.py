"""Densities that sources print in two systems, and the bulk densities of the trade's specifications."""

from __future__ import annotations

from decimal import Decimal

import pint
import pytest

from gradewright.core.units import parse_density

REGISTRY: pint.UnitRegistry[float] = pint.UnitRegistry()

PRINTED = [
    ("0.32117 lb/in3", "8.89"),  # copper conductor: ASTM B258 and EN 13602
    ("0.308 lb/in3", "8.53"),  # C26000 cartridge brass: Copper Development Association data sheet
    ("0.307 lb/in3", "8.50"),  # C36000 free-cutting brass: alloy sheet
    ("0.097 lb/in3", "2.685"),  # aluminium 6063: Aluminum Association (from memory)
    ("490 lb/ft3", "7.849"),  # carbon steel: ASTM A6 practice
    ("0.2836 lb/in3", "7.850"),  # carbon steel
    ("0.29 lb/in3", "8.03"),  # 304 stainless, US practice (from memory)
    ("0.24 lb/in3", "6.64"),  # Zamak 3: ASTM B86 (from memory)
    ("501.84 lb/ft3", "8.039"),  # Manufacturers' Standard Gauge, 41.82 lb/ft2 per inch: not steel's own 7.85
    ("8900 kg/m3", "8.9"),
    ("7.85 t/m3", "7.85"),
]
BULK = [
    "30 lb/ft3",
    "50 lb/ft3",
    "60 lb/ft3",
    "70 lb/ft3",
    "75 lb/ft3",
]  # as in the ReMA circular: EM1, FS 208, 212


@pytest.mark.parametrize(("customary", "printed"), PRINTED)
def test_a_density_in_both_systems(customary: str, printed: str) -> None:
    """A density printed in one unit is the one printed in g/cm3, to the digits printed."""
    assert parse_density(customary).quantize(Decimal(printed)) == parse_density(f"{printed} g/cm3")


@pytest.mark.parametrize("text", [row[0] for row in PRINTED] + BULK)
def test_a_density_agrees_with_pint(text: str) -> None:
    """pint, which counts in floats, gives the same density to twelve places."""
    number, unit = text.split(" ")
    unit = unit.replace("3", "**3").replace("t/", "metric_ton/")
    expected = REGISTRY.Quantity(float(number), unit).to("g/cm**3").magnitude
    assert float(parse_density(text)) == pytest.approx(expected, rel=1e-11)


def test_an_outlying_density_of_cartridge_brass_is_no_rounding() -> None:
    """One properties site prints 8.2 for C26000; its own 0.308 lb/in3 is 4 % away from that."""
    assert parse_density("0.308 lb/in3") / parse_density("8.2 g/cm3") > Decimal("1.03")


def test_the_sheet_gauge_allows_for_thickness_over_the_nominal() -> None:
    """Weights from the sheet gauge are 2.4 % above those from steel's 7.85 g/cm3."""
    ratio = parse_density("501.84 lb/ft3") / parse_density("7.85 g/cm3")
    assert round((ratio - 1) * 100, 1) == Decimal("2.4")
