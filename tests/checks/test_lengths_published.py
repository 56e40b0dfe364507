"""Wire gauge, sheet gauge and the thicknesses that specifications print in two systems.

Sources: ASTM B258 (American wire gauge; its formula and 0000 = 0.4600 in, 36 = 0.0050 in), published wire
tables that agree with it; the Manufacturers' Standard Gauge for sheet steel (41.82 lb/ft2 per inch).
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from gradewright.core.errors import UnitError
from gradewright.core.units import mass_unit, parse_area, parse_density, parse_length

PI = Decimal("3.14159265358979323846")
INCH = parse_length("1 in")
COPPER = parse_density("8.89 g/cm3")  # for conductors: EN 13602, ASTM B3 / B258

# gauge: diameter in, mm; circular mils; mm2; copper lb/1000 ft, kg/km
WIRES = {
    "10 AWG": ("0.10190", "2.5882", "10383", "5.2612", "31.43", "46.77"),
    "12 AWG": ("0.08081", "2.0525", "6530", "3.3088", "19.77", "29.42"),
    "14 AWG": ("0.06408", "1.6277", "4107", "2.0809", "12.43", "18.50"),
    "16 AWG": ("0.05082", "1.2908", "2583", "1.3087", "7.82", "11.63"),
    "18 AWG": ("0.04030", "1.0237", "1624", "0.8230", "4.92", "7.32"),
    "20 AWG": ("0.03196", "0.8118", "1021.5", "0.5176", "3.09", "4.60"),
    "22 AWG": ("0.02535", "0.6438", "642.4", "0.3255", "1.945", "2.894"),
    "24 AWG": ("0.02010", "0.5106", "404.0", "0.2047", "1.223", "1.820"),
}


def area_mm2(gauge: str) -> Decimal:
    return PI * parse_length(gauge) ** 2 / 4


def pounds_per_1000_ft(gauge: str) -> Decimal:
    grams = area_mm2(gauge) / 100 * parse_length("1000 ft") / 10 * COPPER
    return grams / mass_unit("lb").grams


def to_the_digits_of(value: Decimal, printed: str) -> Decimal:
    return value.quantize(Decimal(printed))


def column(index: int) -> list[tuple[str, str]]:
    return [(gauge, row[index]) for gauge, row in WIRES.items()]


@pytest.mark.parametrize(("gauge", "printed"), [("0000 AWG", "0.4600"), ("36 AWG", "0.0050"), *column(0)])
def test_wire_diameter_in_inches(gauge: str, printed: str) -> None:
    """A gauge number is the diameter in inches that the wire table prints."""
    assert to_the_digits_of(parse_length(gauge) / INCH, printed) == Decimal(printed)


@pytest.mark.parametrize(("gauge", "printed"), column(1))
def test_wire_diameter_in_mm(gauge: str, printed: str) -> None:
    """A gauge number is the diameter in millimetres that the wire table prints."""
    assert to_the_digits_of(parse_length(gauge), printed) == Decimal(printed)


@pytest.mark.parametrize(("gauge", "printed"), column(2))
def test_wire_in_circular_mils(gauge: str, printed: str) -> None:
    """The square of the diameter in thousandths of an inch is the table's circular mils."""
    assert to_the_digits_of((parse_length(gauge) / INCH * 1000) ** 2, printed) == Decimal(printed)


@pytest.mark.parametrize(("gauge", "printed"), column(3))
def test_wire_cross_section(gauge: str, printed: str) -> None:
    """The cross-section from the diameter is the table's, in mm2."""
    assert to_the_digits_of(area_mm2(gauge), printed) == Decimal(printed)


@pytest.mark.parametrize(("gauge", "printed"), column(4))
def test_copper_wire_pounds_per_1000_feet(gauge: str, printed: str) -> None:
    """Copper of 8.89 g/cm3 in a wire of that gauge weighs what the table prints per 1000 ft."""
    assert abs(pounds_per_1000_ft(gauge) - Decimal(printed)) <= Decimal("0.006")


@pytest.mark.parametrize(("gauge", "printed"), column(5))
def test_copper_wire_kilograms_per_km(gauge: str, printed: str) -> None:
    """Copper of 8.89 g/cm3 in a wire of that gauge weighs what the table prints per km."""
    assert abs(area_mm2(gauge) * COPPER - Decimal(printed)) <= Decimal("0.006")


def test_a_misprinted_wire_table_is_told_from_a_right_one() -> None:
    """One published table prints 17.77 lb per 1000 ft for 12 AWG: copper per circular mil says 19.77."""
    mils = {gauge: (parse_length(gauge) / INCH * 1000) ** 2 for gauge in WIRES}
    for gauge, area in mils.items():
        assert abs(pounds_per_1000_ft(gauge) / area - Decimal("0.0030269")) < Decimal("0.000001")
    assert abs(Decimal("17.77") / mils["12 AWG"] - Decimal("0.0030269")) > Decimal("0.0003")


@pytest.mark.parametrize("written", ["16 B&S", "16 AWG", "AWG 16"])
def test_the_old_gauge_floor_of_copper_wire(written: str) -> None:
    """No. 16 B&S, the floor for No. 1 copper wire before 2017, is 0.0508 in or 1.29 mm."""
    assert parse_length("0.0508 in") <= parse_length(written) < parse_length("0.05085 in")
    assert round(parse_length(written), 2) == parse_length("1.29 mm")


# Thicknesses as specifications print them in both systems (ReMA circular: FS 200, FS 203, Candy before 2017,
# Taboo; ASTM A480 sheet and plate; circular, railroad 30), to the millimetre digits printed.
@pytest.mark.parametrize(
    ("inches", "printed"),
    [
        ("1/4 in", "6.35"),
        ("0.250 in", "6.35"),
        ("1/8 in", "3.175"),
        ('0.125"', "3.175"),
        ("1/16 in", "1.5875"),
        ("3/16 in", "4.76"),
        ("0.015 in", "0.38"),
        ("60 in", "1524"),
        ("5 ft", "1524"),
        ("24 in", "609.6"),
        ("3 ft", "914.4"),
        ("18 in", "457.2"),
    ],
)
def test_a_limit_in_inches_and_in_mm(inches: str, printed: str) -> None:
    """A limit printed in inches is the one printed in millimetres."""
    assert to_the_digits_of(parse_length(inches), printed) == parse_length(f"{printed} mm")


# Manufacturers' Standard Gauge: gauge, inches, mm, lb/ft2. 22 and thinner are from memory.
SHEETS = [
    (8, "0.1644", "4.176", "6.875"),
    (10, "0.1345", "3.416", "5.625"),
    (11, "0.1196", "3.038", "5.0"),
    (12, "0.1046", "2.657", "4.375"),
    (14, "0.0747", "1.897", "3.125"),
    (16, "0.0598", "1.519", "2.5"),
    (18, "0.0478", "1.214", "2.0"),
    (20, "0.0359", "0.912", "1.5"),
    (22, "0.0299", "0.759", "1.25"),
    (24, "0.0239", "0.607", "1.0"),
    (26, "0.0179", "0.455", "0.75"),
    (28, "0.0149", "0.378", "0.625"),
    (30, "0.0120", "0.305", "0.5"),
]


@pytest.mark.parametrize(("gauge", "inches", "mm", "psf"), SHEETS)
def test_a_steel_sheet_in_mm(gauge: int, inches: str, mm: str, psf: str) -> None:
    """The thickness printed in inches for a sheet is the one printed in mm."""
    assert abs(parse_length(f"{inches} in") - parse_length(f"{mm} mm")) < Decimal("0.001")


@pytest.mark.parametrize(("gauge", "inches", "mm", "psf"), SHEETS)
def test_a_steel_sheet_weighs_its_nominal_pounds_per_square_foot(
    gauge: int, inches: str, mm: str, psf: str
) -> None:
    """A square foot at 41.82 lb per inch of thickness (501.84 lb/ft3) weighs the gauge's nominal pounds."""
    thickness_cm = parse_length(f"{inches} in") / 10
    grams = parse_area("1 ft2") * thickness_cm * parse_density("501.84 lb/ft3")
    half_a_digit = Decimal("0.00005") * Decimal("41.82")  # of the printed inches
    assert abs(grams / mass_unit("lb").grams - Decimal(psf)) <= half_a_digit + Decimal("1e-6")


@pytest.mark.parametrize(
    ("metal", "inches"),
    [
        ("plain", "0.0598 in"),
        ("galvanized", "0.0635 in"),
        ("stainless", "0.0625 in"),
        ("alumin", "0.0508 in"),
    ],
)
def test_a_gauge_without_its_metal_is_refused(metal: str, inches: str) -> None:
    """Sixteen gauge is four thicknesses in four metals: the refusal names them, and each can be read."""
    with pytest.raises(UnitError, match=metal) as refused:
        parse_length("16 gauge")
    assert inches in refused.value.detail
    assert parse_length(inches) > 0
