"""The answer for a piece that was weighed in water: its density, and every metal that it may be."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from gradewright.core.errors import Fault, GradewrightError, Refused
from gradewright.core.measured import rounded, rounded_outwards
from gradewright.core.observations import Observed
from gradewright.core.pricelist import PriceList
from gradewright.core.recovery_density import Density, Displacement, density_of
from gradewright.core.spanning import graded_between, possible_values
from gradewright.core.units import trimmed
from gradewright.recoveries import cautions
from gradewright.recoveries.cable import Found
from gradewright.recoveries.given import Displaced
from gradewright.recoveries.reading import observations
from gradewright.recoveries.shapes import graded
from gradewright.rulebooks.service import Version

PLACES = 3
LEAST = Decimal("0.001")
LOOSE = ("assembly", "none")
NOTES = [
    "A hollow or porous piece, or one with bubbles on it, comes out too light: knock the bubbles off, and "
    "where nothing fits, cut it.",
    "Two metals in one piece come out in between, and a plated piece as what is under the plate.",
    "Taken to be a loose piece of metal, unless it was observed to be an assembly.",
]


def answer(what: Displaced, version: Version, prices: PriceList | None) -> Found:
    """The density, the metals that it leaves, and the grade. Raises Refused with every fault."""
    faults: list[Fault] = []
    observed: Observed = {}
    found: Density | None = None
    try:
        water = None if what.water is None else Decimal(what.water)
        found = density_of(
            Displacement(what.dry, what.in_water, what.displaced, what.scale, what.vessel, water)
        )
    except GradewrightError as error:
        faults += error.faults
    try:
        observed = observations(version.rulebook, what.observed, {}, "density")
    except GradewrightError as error:
        faults += error.faults
    name, none = LOOSE
    known = version.rulebook.attributes.get(name)
    if known is not None and none in known.choices:
        observed = {name: none, **observed}
    if faults or found is None:
        raise Refused("; ".join(fault.detail for fault in faults), faults=tuple(faults))
    low, likely, high = rounded_outwards(found.density, PLACES)
    low, likely = max(low, LEAST), max(likely, LEAST)
    metals = possible_values(version.grader, observed, "density", low, high, "metal")
    spanned = graded_between(version.grader, observed, "density", low, high)
    shown: dict[str, Any] = {
        "density": {
            "low": f"{trimmed(low)} g/cm3",
            "likely": f"{trimmed(likely)} g/cm3",
            "high": f"{trimmed(high)} g/cm3",
            "attribute": "density",
            "metals": [_metal(metal, found) for metal in metals],
            "rests_on": [found.rests_on],
            "says": _says(metals, found, low, high),
        },
        "grading": {
            **graded(version.grader, spanned.outcome, prices),
            "bands": [],
            "house_limits": [],
        },
        "notes": NOTES,
    }
    return Found(shown, cautions.of_range(version.grader, observed, "density", spanned))


def _metal(metal: str, found: Density) -> dict[str, Any]:
    """A metal that can be, with the published densities that fit: none where only the margin allows it."""
    return {
        "metal": metal,
        "published": [
            {
                "material": material.name,
                "low": f"{trimmed(rounded(material.low, PLACES))} g/cm3",
                "high": f"{trimmed(rounded(material.high, PLACES))} g/cm3",
                "source": material.source,
            }
            for material in found.materials
            if material.metal == metal
        ],
    }


def _says(metals: tuple[str, ...], found: Density, low: Decimal, high: Decimal) -> str:
    span = f"Between {trimmed(low)} and {trimmed(high)} g/cm3."
    if not metals:
        return f"{span} No metal of the rulebook goes with that and with what was observed."
    close = [metal for metal in metals if any(each.metal == metal for each in found.materials)]
    fits = f" The published density of {', '.join(close)} fits." if close else " No published density fits."
    others = [metal for metal in metals if metal not in close]
    margin = f" Not ruled out: {', '.join(others)}." if others else ""
    return f"{span}{fits}{margin}"
