"""A metal described with its published density is no contradiction; described with another's, it is.

Sources: the elements from periodictable 2.1.0 and mendeleev 1.3.0, both run: they differ in the third digit;
copper conductors from EN 13602 and ASTM B258 (seen); C26000 and C36000 from alloy data sheets (seen); the
others from memory, where that is said.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from tests.checks.shipped import CONTRADICTION, DAYS, answer

from gradewright.core.units import parse_density

Part = dict[str, Any]
CLEAN: Part = {"attached": "nothing", "surface": "bare"}
COPPER: Part = {"metal": "copper", "form": "bar", "thickness": "5 mm", **CLEAN}
YELLOW: Part = {"metal": "brass", "form": "bar", "colour_when_filed": "yellow", **CLEAN}
ALUMINIUM: Part = {"metal": "aluminium", "form": "casting", **CLEAN}
PROFILE: Part = {"metal": "aluminium", "form": "profile", **CLEAN}
STEEL: Part = {"metal": "steel", "form": "bar", "thickness": "10 mm", **CLEAN}
STAINLESS: Part = {"metal": "stainless", "form": "sheet", "sticks_to_magnet": False, **CLEAN}
ZINC: Part = {"metal": "zinc", "form": "sheet", **CLEAN}
DIE_CAST: Part = {"metal": "zinc", "form": "casting", **CLEAN}
LEAD: Part = {"metal": "lead", "form": "sheet", **CLEAN}
TIN: Part = {"metal": "tin", "form": "sheet", **CLEAN}
SOLDER: Part = {"metal": "solder", "form": "bar", **CLEAN}
SILVER: Part = {"metal": "silver", "form": "sheet", **CLEAN}
CAST_IRON: Part = {"metal": "cast-iron", "form": "casting", **CLEAN}
NICKEL_SILVER: Part = {"metal": "nickel-silver", "form": "sheet", **CLEAN}
MAGNESIUM: Part = {"metal": "magnesium", "form": "casting", **CLEAN}

PUBLISHED = [
    (COPPER, "8.96 g/cm3", "copper-no1"),  # the element
    (COPPER, "8.89 g/cm3", "copper-no1"),  # conductors, EN 13602
    (COPPER, "0.32117 lb/in3", "copper-no1"),  # conductors, ASTM B258
    (YELLOW, "8.53 g/cm3", "brass-yellow"),  # C26000
    (YELLOW, "0.308 lb/in3", "brass-yellow"),  # C26000
    (YELLOW, "8.50 g/cm3", "brass-yellow"),  # C36000
    (YELLOW, "8.49 g/cm3", "brass-yellow"),  # C36000, as printed in metric
    (YELLOW, "0.307 lb/in3", "brass-yellow"),  # C36000
    (ALUMINIUM, "2.70 g/cm3", "aluminium-cast"),  # the element
    (ALUMINIUM, "2.6989 g/cm3", "aluminium-cast"),
    (PROFILE, "2.69 g/cm3", "aluminium-extrusion"),  # 6063, from memory
    (PROFILE, "0.097 lb/in3", "aluminium-extrusion"),  # 6063, from memory
    (STEEL, "7.85 g/cm3", "steel-heavy"),  # carbon steel, from memory
    (STEEL, "490 lb/ft3", "steel-heavy"),  # the same
    (STEEL, "0.2836 lb/in3", "steel-heavy"),  # the same
    (STEEL, "7.874 g/cm3", "steel-heavy"),  # the element iron
    (STAINLESS, "7.9 g/cm3", "stainless-18-8"),  # EN 10088-1, from memory
    (STAINLESS, "8.03 g/cm3", "stainless-18-8"),  # US practice, from memory
    (STAINLESS, "0.29 lb/in3", "stainless-18-8"),  # the same
    (ZINC, "7.13 g/cm3", "zinc-old"),  # the element
    (DIE_CAST, "6.6 g/cm3", "zinc-die-cast"),  # Zamak 3, ASTM B86, from memory
    (DIE_CAST, "0.24 lb/in3", "zinc-die-cast"),  # the same
    (LEAD, "11.35 g/cm3", "lead-soft"),  # the element
    (LEAD, "11.3 g/cm3", "lead-soft"),  # the same in mendeleev
    (TIN, "7.31 g/cm3", "tin-pewter"),  # the element
    (SOLDER, "8.4 g/cm3", "solder"),  # Sn63Pb37, from memory
    (SOLDER, "8.5 g/cm3", "solder"),  # Sn60Pb40, from memory
    (SILVER, "10.50 g/cm3", "silver-articles"),  # the element
]
LEADS = "11.35 g/cm3"
FOREIGN = [
    (COPPER, LEADS, "copper-alloy-too-heavy"),
    (YELLOW, LEADS, "copper-alloy-too-heavy"),
    (NICKEL_SILVER, LEADS, "copper-alloy-too-heavy"),
    (ALUMINIUM, LEADS, "aluminium-too-heavy"),
    (MAGNESIUM, LEADS, "magnesium-too-heavy"),
    (STEEL, LEADS, "iron-too-heavy"),
    (STAINLESS, LEADS, "iron-too-heavy"),
    (CAST_IRON, LEADS, "iron-too-heavy"),
    (ZINC, LEADS, "zinc-or-tin-too-heavy"),
    (TIN, LEADS, "zinc-or-tin-too-heavy"),
    (COPPER, "7.85 g/cm3", "copper-too-light"),  # steel under a film of copper
    (COPPER, "2.70 g/cm3", "copper-too-light"),  # aluminium under a film of copper
    (YELLOW, "7.13 g/cm3", "copper-alloy-too-light"),  # zinc under brass
    (YELLOW, "6.6 g/cm3", "copper-alloy-too-light"),  # die cast under brass
    (YELLOW, "19.30 g/cm3", "copper-alloy-too-heavy"),  # gold, which nobody should sell as brass
    (ALUMINIUM, "6.6 g/cm3", "aluminium-too-heavy"),  # die cast
    (ALUMINIUM, "7.85 g/cm3", "aluminium-too-heavy"),  # steel
    (MAGNESIUM, "2.70 g/cm3", "magnesium-too-heavy"),  # aluminium
    (STEEL, "2.70 g/cm3", "steel-too-light"),  # aluminium
    (STAINLESS, "8.53 g/cm3", "iron-too-heavy"),  # chromed brass
    (CAST_IRON, "2.70 g/cm3", "cast-iron-too-light"),  # aluminium
    (ZINC, "2.70 g/cm3", "zinc-off-the-scale"),  # aluminium
    (DIE_CAST, "8.53 g/cm3", "zinc-or-tin-too-heavy"),  # brass under chrome
    (TIN, "6.6 g/cm3", "tin-or-solder-too-light"),  # die cast
    (SOLDER, "2.70 g/cm3", "tin-or-solder-too-light"),  # aluminium
    (SILVER, "8.53 g/cm3", "silver-too-light"),  # brass under silver
    (LEAD, "8.5 g/cm3", "lead-too-light"),  # solder
    (LEAD, "7.31 g/cm3", "lead-too-light"),  # tin
]


@pytest.mark.parametrize("day", DAYS)
@pytest.mark.parametrize(("part", "density", "grade"), PUBLISHED)
def test_a_metal_may_have_its_own_density(day: str, part: Part, density: str, grade: str) -> None:
    """A part with the published density of its metal is graded, half a percent of error included."""
    published = parse_density(density)
    for factor in ("0.995", "1", "1.005"):
        weighed = f"{(published * Decimal(factor)).quantize(Decimal('0.0001'))} g/cm3"
        assert answer(day, {**part, "density": weighed}) == grade


@pytest.mark.parametrize("day", DAYS)
@pytest.mark.parametrize(("part", "density", "entry"), FOREIGN)
def test_a_metal_cannot_have_anothers_density(day: str, part: Part, density: str, entry: str) -> None:
    """A part with the density of another metal is named a contradiction and not graded."""
    assert answer(day, {**part, "density": density}) == CONTRADICTION + entry


@pytest.mark.parametrize("density", ["11.35 g/cm3", "10.50 g/cm3"])
def test_solder_may_be_nearly_lead(density: str) -> None:
    """Solder is any share of lead and tin, so the rulebook sets it no upper density."""
    assert answer(DAYS[-1], {**SOLDER, "density": density}) == "solder"


def test_a_misprinted_density_of_brass_is_still_brass() -> None:
    """A properties site prints 8.2 for C26000: within the margin, so it misleads nobody into zinc."""
    assert answer(DAYS[-1], {**YELLOW, "density": "8.2 g/cm3"}) == "brass-yellow"
    assert answer(DAYS[-1], {**YELLOW, "density": "7.99 g/cm3"}) == CONTRADICTION + "copper-alloy-too-light"
