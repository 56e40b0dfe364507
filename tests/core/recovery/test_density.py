"""The density of a piece from two weights or a volume, as a range, and what it may be made of."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gradewright.core.errors import Refused
from gradewright.core.recovery.densities import too_light, water_at
from gradewright.core.recovery.density import Density, Displacement, density_of


def found(**more: Any) -> Density:
    return density_of(Displacement(**more))


def metals(density: Density) -> set[str]:
    return {material.metal for material in density.materials}


@pytest.mark.parametrize("in_water", ["100.00 g", "100.01 g"])
def test_what_weighs_no_less_in_water_is_refused(in_water: str) -> None:
    """Neither as much nor more can be."""
    with pytest.raises(Refused, match="it weighs no less in water than dry"):
        found(dry="100.00 g", in_water=in_water)


def test_brass_in_water_of_known_temperature() -> None:
    """100 g of brass that weighs 88.3 g in water of 20 C is 8.52 g/cm3, to a hundredth: not copper."""
    density = found(dry="100.00 g", in_water="88.30 g", water=Decimal(20))
    assert round(density.density.likely, 2) == Fraction("8.52")
    assert density.density.high - density.density.low < Fraction("0.02")
    assert "brass" in metals(density)
    assert "copper" not in metals(density)


def test_a_volume_moved_aside() -> None:
    """250 g that move 28 ml aside are between 249.5/28.5 and 250.5/27.5 g/cm3."""
    density = found(dry="250 g", displaced="28 ml").density
    assert (density.low, density.high) == (
        Fraction("249.5") / Fraction("28.5"),
        Fraction("250.5") / Fraction("27.5"),
    )
    assert density.likely == Fraction(250, 28)


def test_a_coarse_scale_leaves_many_metals() -> None:
    """On a kitchen scale a small piece may be anything from zinc to lead, and each of them is told."""
    density = found(dry="12 g", in_water="10 g")
    assert {"zinc", "steel", "brass", "copper", "lead"} <= metals(density)


def test_gold_is_gold_or_tungsten() -> None:
    """193.0 g that weigh 183.0 g in water are 19.05 to 19.5 g/cm3: gold fits, and tungsten as well."""
    density = found(dry="193.0 g", in_water="183.0 g")
    assert metals(density) == {"gold", "tungsten"}


@pytest.mark.parametrize(
    ("metal", "low", "out"),
    [
        ("lead", "19.05", True),
        ("silver", "11.30", True),
        ("steel", "8.51", True),
        ("steel", "8.20", False),  # tool steels with tungsten, which the table has not
        ("copper", "8.90", False),
        ("lead", "8.90", False),  # hollow, it may be
        ("mixed", "11.36", False),
        ("mixed", "19.05", True),
        ("non-metal", "19.05", False),
    ],
)
def test_nothing_is_heavier_than_its_metal(metal: str, low: str, out: bool) -> None:
    """A metal lighter than the low end, by more than unlisted alloys differ, is out; a heavier one is not."""
    assert too_light(metal, Fraction(low)) is out


def test_unknown_water_is_less_sure() -> None:
    """Without a temperature the range holds those of every temperature up to 30 C."""
    untold = found(dry="1000.0 g", in_water="880.0 g").density
    for celsius in range(0, 31, 5):
        told = found(dry="1000.0 g", in_water="880.0 g", water=Decimal(celsius)).density
        assert untold.low <= told.low < told.high <= untold.high + Fraction("0.001")


@given(st.integers(50, 4000), st.integers(25, 200), st.sampled_from([1, 2, 5, 10]))
@settings(max_examples=50)
def test_the_true_density_is_never_outside(volume: int, tenths: int, step: int) -> None:
    """Weighed on a scale that rounds, a piece has its density in the range; or the scale is too coarse."""
    true = Fraction(tenths, 10)
    if true <= 1:
        return
    air, water = Fraction("0.0012"), water_at(Fraction(20)).likely
    shown = [round(volume * (true - around) / step) * step for around in (air, water)]
    readings = {"dry": f"{shown[0]} g", "in_water": f"{shown[1]} g", "scale": f"{step} g"}
    if shown[0] - shown[1] <= step:
        with pytest.raises(Refused):
            found(**readings)
        return
    density = found(**readings, water=Decimal(20))
    assert density.density.low <= true <= density.density.high


@pytest.mark.parametrize(
    ("given_", "where"),
    [
        ({"dry": "10 g", "in_water": "10 g"}, ["in_water"]),
        ({"dry": "10 g", "in_water": "9 g", "scale": "2 g"}, ["in_water"]),
        ({"dry": "10 g"}, ["in_water"]),
        ({"dry": "10 g", "in_water": "9 g", "displaced": "1 ml"}, ["in_water"]),
        ({"dry": "10", "in_water": "9 kilos of it", "water": Decimal(60)}, ["dry", "water", "in_water"]),
        ({"dry": "10 g", "displaced": "1 ml", "vessel": "5 ml"}, ["displaced"]),
        ({"dry": "10 g", "displaced": "1 ml", "vessel": "5"}, ["vessel"]),
        ({"dry": "0 g", "displaced": "1 ml"}, ["dry"]),
    ],
)
def test_what_cannot_be_told(given_: dict[str, Any], where: list[str]) -> None:
    """Weights that tell nothing, and measures that cannot be read, are refused together, each where it is."""
    with pytest.raises(Refused) as error:
        found(**given_)
    assert [fault.at for fault in error.value.faults] == [(name,) for name in where]
