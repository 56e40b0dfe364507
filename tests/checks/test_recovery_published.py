"""Recovery against the published world: conductors, cables, copper numbers, densities, water, assays.

Sources. ASTM B258 (wire gauge) and wire tables that agree with it; IEC 60228 (greatest resistance at 20 C,
as printed by four makers) and 17.241 ohm mm2/km (100 % IACS, from memory); makers' data sheets for cables;
technical tables of a cable maker for 8.89 kg/km/mm2 (EN 13602) and the copper number 9.6; elements from
tables of them (periodictable, mendeleev); IAPWS 1995 for water, as the package iapws works it out;
Chancerel et al. 2009.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import gsw
import pytest
from pint import UnitRegistry
from tests.checks.shipped import versions

from gradewright.core.grading import Grader
from gradewright.core.recovery.assay import parse_content
from gradewright.core.recovery.cable import Build, CopperShare, copper_of_build
from gradewright.core.recovery.conductors import COPPER_DENSITY, Conductor, section
from gradewright.core.recovery.densities import ANY_WATER, COLDEST, HOTTEST, MATERIALS, water_at
from gradewright.core.recovery.published import PUBLISHED
from gradewright.recoveries import cable, density
from gradewright.recoveries.given import Displaced, Sample
from gradewright.recoveries.service import METHOD
from gradewright.rulebooks.service import Version

POINT = Fraction(1, 100)
REGISTRY: UnitRegistry[float] = UnitRegistry()

# gauge: mm2, kg/km of copper (ASTM B258, copper of 8.89 g/cm3)
GAUGES = {
    "10 AWG": ("5.2612", "46.77"),
    "12 AWG": ("3.3088", "29.42"),
    "14 AWG": ("2.0809", "18.50"),
    "16 AWG": ("1.3087", "11.63"),
    "18 AWG": ("0.8230", "7.32"),
    "20 AWG": ("0.5176", "4.60"),
    "22 AWG": ("0.3255", "2.894"),
    "24 AWG": ("0.2047", "1.820"),
}
# IEC 60228: least area of class 1 by its greatest resistance and 17.241 ohm mm2/km; nominal copper in kg/km
METRIC = {
    "0.5 mm2": ("0.479", "4.445"),
    "0.75 mm2": ("0.704", "6.668"),
    "1 mm2": ("0.953", "8.890"),
    "1.5 mm2": ("1.425", "13.335"),
    "2.5 mm2": ("2.327", "22.225"),
    "4 mm2": ("3.740", "35.56"),
    "6 mm2": ("5.598", "53.34"),
}


def solid(size: str) -> Conductor:
    return Conductor(1, size, 1)


@pytest.mark.parametrize(("size", "row"), GAUGES.items())
def test_a_gauge_has_its_area_and_mass(size: str, row: tuple[str, str]) -> None:
    """A solid conductor has the cross-section and the copper of the wire table as its likely one."""
    found = section(solid(size), twisted=False)
    assert round(found.nominal, len(row[0].partition(".")[2])) == Fraction(row[0])
    kg_per_km = found.copper.likely * COPPER_DENSITY
    assert abs(kg_per_km - Fraction(row[1])) <= Fraction("0.006")
    assert found.copper.low < found.nominal < found.copper.high


@pytest.mark.parametrize(("size", "row"), METRIC.items())
def test_a_metric_conductor_keeps_its_resistance(size: str, row: tuple[str, str]) -> None:
    """The low end is the least area that keeps class 1's greatest resistance, the high end the nominal."""
    found = section(solid(size), twisted=False)
    assert round(found.copper.low, 3) == Fraction(row[0])
    assert round(found.copper.high * COPPER_DENSITY, 3) == Fraction(row[1])


def test_a_legal_conductor_may_hold_four_to_eleven_percent_less() -> None:
    """The least copper is 4 to 11 % below nominal, as a cable maker's technical table says of it."""
    less: dict[bool, list[Fraction]] = {True: [], False: []}
    for size in METRIC:
        for strands in (1, 7, 30, None):
            found = section(Conductor(1, size, strands), twisted=False)
            less[strands in (1, 7)].append(round(1 - found.copper.low / found.nominal, 2))
    assert (min(less[True]), max(less[True])) == (Fraction("0.04"), Fraction("0.07"))
    assert (min(less[False]), max(less[False])) == (Fraction("0.09"), Fraction("0.11"))


# Conductors, weight for a length, and the copper share that area x 8.89 over weight gives: all from data
# sheets whose weights are rounded to whole units. Three points of tolerance for lay.
CABLES = [
    (Conductor(3, "16 AWG"), "38 lb", "1000 ft", "0.617"),
    (Conductor(3, "18 AWG"), "27 lb", "1000 ft", "0.546"),
    (Conductor(1, "14 AWG", 1), "22 lb", "1000 ft", "0.565"),
    (Conductor(1, "0.5 mm2", 1), "8 kg", "1000 m", "0.556"),
    (Conductor(1, "0.75 mm2", 1), "11 kg", "1000 m", "0.606"),
    (Conductor(1, "1.0 mm2", 1), "14 kg", "1000 m", "0.635"),
    (Conductor(3, None, 7, "0.30 mm"), "32 kg", "1000 m", "0.412"),
    (Conductor(3, None, 7, "0.50 mm"), "64 kg", "1000 m", "0.573"),
    (Conductor(3, None, 7, "0.67 mm"), "93 kg", "1000 m", "0.708"),
    (Conductor(5, None, 7, "0.43 mm"), "73 kg", "1000 m", "0.619"),
    (Conductor(13, None, 7, "0.30 mm"), "107 kg", "1000 m", "0.534"),
    (Conductor(3, "1.5 mm2"), "210 kg", "1000 m", "0.191"),
    (Conductor(3, "2.5 mm2"), "269 kg", "1000 m", "0.248"),
    (Conductor(5, "2.5 mm2"), "370 kg", "1000 m", "0.300"),
]


def share(conductor: Conductor, weight: str, length: str) -> CopperShare:
    return copper_of_build(Build((conductor,), weight, length))


@pytest.mark.parametrize(("conductor", "weight", "length", "published"), CABLES)
def test_the_share_of_a_published_cable(
    conductor: Conductor, weight: str, length: str, published: str
) -> None:
    """The share by a data sheet's own figures is in the range, within three points of the likely one."""
    found = share(conductor, weight, length).share
    assert found.low <= Fraction(published) <= found.high
    assert abs(found.likely - Fraction(published)) <= 3 * POINT


def test_shares_rise_with_the_conductor() -> None:
    """Within a family thicker conductors make a higher share, and every share lies between none and all."""
    for family in (CABLES[3:6], CABLES[6:9], CABLES[11:13]):
        found = [share(*cable[:3]).share for cable in family]
        assert all(0 < each.low <= each.likely <= each.high < 1 for each in found)
        for side in ("low", "likely", "high"):
            ends = [getattr(each, side) for each in found]
            assert ends == sorted(ends)


@pytest.mark.parametrize(("conductor", "weight", "length", "published"), CABLES)
def test_the_copper_number_is_above_what_there_is(
    conductor: Conductor, weight: str, length: str, published: str
) -> None:
    """No end of the share is above the copper number, which is 8.0 % above the data sheet's copper."""
    found = share(conductor, weight, length)
    by_number = found.number_share
    assert by_number is not None
    for end in ("low", "likely", "high"):
        assert getattr(found.share, end) <= getattr(by_number, end)
    assert found.share.likely < by_number.likely
    assert abs(by_number.likely / Fraction(published) - Fraction("1.0799")) < Fraction("0.003")


@pytest.mark.parametrize(
    ("count", "size", "number"),
    [
        (1, "0.5 mm2", "4.8"),
        (1, "0.75 mm2", "7.2"),
        (1, "1.0 mm2", "9.6"),
        (1, "1.5 mm2", "14.4"),
        (5, "16 mm2", "768"),
    ],
)
def test_copper_numbers_as_printed(count: int, size: str, number: str) -> None:
    """0.5 to 1.5 mm2 are printed as 4.8, 7.2, 9.6 and 14.4 kg/km, 5 x 16 mm2 as 768."""
    found = share(Conductor(count, size), "1000 kg", "1000 m").number_share
    assert found is not None
    assert found.likely * 1000 == Fraction(number)


# g/cm3, and the material of the table that it is (elements: periodictable; alloys: data sheets)
DENSITIES = [
    ("8.96", "copper"),
    ("8.89", "copper"),
    ("8.53", "brass"),
    ("8.50", "brass"),
    ("2.6989", "aluminium and alloys"),
    ("7.874", "carbon steel"),
    ("7.13", "zinc"),
    ("11.35", "lead"),
    ("7.31", "tin and pewter"),
    ("10.50", "silver, also sterling"),
    ("19.30", "gold"),
    ("12.02", "palladium"),
    ("8.902", "nickel"),
    ("8.94", "cupronickel"),
    ("21.45", "platinum"),
    ("19.3", "tungsten"),
]


@pytest.mark.parametrize(("density", "name"), DENSITIES)
def test_a_published_density_is_in_its_row(density: str, name: str) -> None:
    """The density of an element or an alloy's data sheet lies in the row of its material."""
    row = next(material for material in MATERIALS if material.name == name)
    assert row.low <= Fraction(density) <= row.high


def test_a_rejected_density_of_brass() -> None:
    """8.2 g/cm3, which one site prints for C26000, is not in the row of brass."""
    brass = next(material for material in MATERIALS if material.name == "brass")
    assert not brass.low <= Fraction("8.2") <= brass.high


@pytest.mark.parametrize("celsius", [0, 4, 12, 17.5, 20, 23, 29, 36, 40])
def test_water_as_oceanographers_have_it(celsius: float) -> None:
    """The density of fresh water at a temperature is that of TEOS-10 within what is left open."""
    reference = float(gsw.rho_t_exact(0, celsius, 0)) / 1000
    found = water_at(Fraction(celsius))
    assert float(found.low) <= reference <= float(found.high)
    if 4 <= celsius <= 30:
        assert float(ANY_WATER.low) <= reference <= float(ANY_WATER.high)


def test_water_of_other_temperatures_is_not_guessed() -> None:
    """Below freezing and above 40 C nothing is looked up."""
    for celsius in (COLDEST - 1, HOTTEST + 1):
        with pytest.raises(ValueError, match="no water"):
            water_at(Fraction(celsius))


def test_every_version_that_ships_takes_what_is_measured() -> None:
    """Each has words for a cable's copper share and a piece's density, and cautions of both kinds of work."""
    for book in versions():
        version = Version(book, Grader(book), "")
        seen = {"cable_kind": "cord", "plug_attached": False}
        found = cable.answer(Sample("512 g", "297 g", observed=seen), version, None, METHOD)
        assert found.members["grading"]["grade"] == "wire-50", book.version
        assert {"no-burning", "eyes-and-hands"} <= {caution.id for caution in found.cautions.certain}
        piece = density.answer(Displaced("100.00 g", "88.30 g"), version, None, METHOD)
        assert "brass" in {metal["metal"] for metal in piece.members["density"]["metals"]}
        assert {"no-acids"} <= set(book.cautions)


@pytest.mark.parametrize("unit", ["g/t", "ozt/short ton", "g/kg", "oz/lb"])
def test_contents_agree_with_pint(unit: str) -> None:
    """pint gives the same grams for each tonne for a mass over a mass."""
    over, under = unit.split("/")
    names = {"t": "metric_ton", "ozt": "troy_ounce", "short ton": "short_ton", "oz": "ounce", "lb": "pound"}
    ratio = REGISTRY.Quantity(1.0, names.get(over, over)) / REGISTRY.Quantity(1.0, names.get(under, under))
    expected = ratio.to("gram/metric_ton").magnitude
    assert float(parse_content(f"1 {unit}")) == pytest.approx(expected, rel=1e-12)


def test_assays_as_published() -> None:
    """Whole desktop computers 13 to 31 g/t of gold and 3 to 17 of palladium; phones 347 and 151 g/t."""
    desktop, phone = PUBLISHED["desktop-computers"], PUBLISHED["phones"]
    assert (min(desktop["gold"].figures), max(desktop["gold"].figures)) == (13, 31)
    assert (min(desktop["palladium"].figures), max(desktop["palladium"].figures)) == (3, 17)
    assert Decimal(347) in phone["gold"].figures
    assert Decimal(151) in phone["palladium"].figures
    assert PUBLISHED["lighting-capacitors"]["silver"].figures == (parse_content("0.467 %"),)
    assert PUBLISHED["lighting-capacitors"]["palladium"].figures == (parse_content("0.105 %"),)
