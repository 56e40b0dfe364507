"""Published densities of metals, in g/cm3, each with its source; and of water, by its temperature.

What lies between the ends of a row is one material; "from memory" was not read again in the source. A hollow
or porous piece is lighter than its metal, and none is heavier.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from fractions import Fraction

from gradewright.core.recovery.measured import Range, around


@dataclass(frozen=True, slots=True)
class Material:
    """A material with its density, and the metal that a rulebook may call it."""

    name: str
    metal: str
    low: Fraction
    high: Fraction
    source: str

    def within(self, density: Range) -> bool:
        """Whether the density may be this one."""
        return self.low <= density.high and density.low <= self.high


def _row(name: str, metal: str, low: str, high: str, source: str) -> Material:
    return Material(name, metal, Fraction(low), Fraction(high), source)


ELEMENTS = "tables of the elements (periodictable, mendeleev), which differ in the third digit"
MEMORY = "from memory"
MATERIALS = (
    _row("magnesium alloys", "magnesium", "1.74", "1.83", f"{MEMORY}: the element 1.74, AZ91 1.81"),
    _row("aluminium and alloys", "aluminium", "2.64", "2.84", f"2.70: {ELEMENTS}; alloys {MEMORY}"),
    _row("zinc die casting alloy", "zinc", "6.6", "6.7", f"ASTM B86 (Zamak 3), {MEMORY}"),
    _row("zinc", "zinc", "7.10", "7.14", f"7.13: {ELEMENTS}"),
    _row("grey cast iron", "cast-iron", "6.9", "7.4", MEMORY),
    _row("tin and pewter", "tin", "7.28", "7.32", f"7.31: {ELEMENTS}"),
    _row("carbon steel", "steel", "7.84", "7.88", f"7.85: ASTM A6, {MEMORY}; iron 7.874: {ELEMENTS}"),
    _row("carbon steel under a coat", "coated-steel", "7.80", "7.88", "as carbon steel"),
    _row("stainless steel", "stainless", "7.7", "8.03", f"EN 10088-1 and US practice, {MEMORY}"),
    _row("brass", "brass", "8.4", "8.86", f"C26000 8.53, C36000 8.50 (alloy sheets); others {MEMORY}"),
    _row("nickel silver", "nickel-silver", "8.6", "8.75", MEMORY),
    _row("bronze", "bronze", "7.6", "9.3", f"{MEMORY}: aluminium to leaded bronze"),
    _row("solder of tin and lead", "solder", "7.3", "10.5", f"Sn63Pb37 8.4, {MEMORY}; any mixture"),
    _row("copper", "copper", "8.88", "8.97", f"8.89 in conductors (EN 13602, ASTM B258), 8.96: {ELEMENTS}"),
    _row("silver, also sterling", "silver", "10.2", "10.51", f"10.50: {ELEMENTS}; sterling {MEMORY}"),
    _row("lead", "lead", "11.0", "11.36", f"11.35: {ELEMENTS}; antimonial lead {MEMORY}"),
    _row("nickel", "nickel", "8.88", "8.92", f"8.90: {ELEMENTS}"),
    _row("cupronickel", "cupronickel", "8.88", "8.96", f"{MEMORY}: 10 to 30 % nickel 8.94"),
    _row("palladium", "palladium", "11.99", "12.03", f"12.02: {ELEMENTS}"),
    _row("gold", "gold", "19.25", "19.32", f"19.30: {ELEMENTS}"),
    _row("gold, alloyed", "gold", "10.9", "18.1", f"{MEMORY}: 9 to 22 carat"),
    _row("tungsten", "tungsten", "19.2", "19.3", f"19.3: {ELEMENTS}"),
    _row("platinum", "platinum", "21.4", "21.5", f"21.45: {ELEMENTS}"),
)  # fmt: skip

UNLISTED = Fraction("1.05")
"""How far above its rows a metal's heaviest alloys may lie: common practice, no source (tool steels: 4 %)."""
_HEAVIEST = {row.metal: max(each.high for each in MATERIALS if each.metal == row.metal) for row in MATERIALS}
_HEAVIEST["mixed"] = _HEAVIEST["lead"]  # the heaviest base metal: none of them together are heavier


def too_light(metal: str, low: Fraction) -> bool:
    """Whether a piece of at least that density in g/cm3 cannot be the metal. One without rows always can."""
    return metal in _HEAVIEST and _HEAVIEST[metal] * UNLISTED < low


# Degrees Celsius: g/cm3 at one atmosphere (from memory; the tests hold it against TEOS-10).
_WATER = {
    0: "0.99984", 5: "0.99997", 10: "0.99970", 15: "0.99910", 20: "0.99821", 25: "0.99705", 30: "0.99565",
    35: "0.99403", 40: "0.99222",
}  # fmt: skip
COLDEST, HOTTEST = min(_WATER), max(_WATER)
WATER_OFF = Fraction("0.0001")
"""What reading between the rows leaves open, and what is dissolved in water from a tap."""
ANY_WATER = Range(Fraction("0.9955"), Fraction("0.998"), Fraction("1.0001"))
"""Water of nobody knows what temperature, up to 30 C."""
AIR = Range(Fraction("0.0011"), Fraction("0.0012"), Fraction("0.0013"))
"""The air in which things are weighed."""


def water_at(celsius: Fraction | None) -> Range:
    """The density of water in g/cm3, from 0 to 40 C; of None, any that is likely. Raises ValueError."""
    if celsius is None:
        return ANY_WATER
    if not COLDEST <= celsius <= HOTTEST:
        raise ValueError("no water that one can hold a piece in")
    rows = sorted(_WATER)
    above = rows[max(bisect_left(rows, celsius), 1)]
    below = above - 5
    low, high = Fraction(_WATER[below]), Fraction(_WATER[above])
    return around(low + (high - low) * (celsius - below) / 5, WATER_OFF)
