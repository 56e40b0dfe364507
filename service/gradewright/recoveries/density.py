"""The answer for a piece that was weighed in water: its density, and every metal that it may be."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Any

from gradewright.core.concerns import Concerning
from gradewright.core.errors import Fault, GradewrightError, Refused
from gradewright.core.grading import Outcome
from gradewright.core.observations import Observed
from gradewright.core.pricelist import PriceList
from gradewright.core.recovery.densities import Material, too_light
from gradewright.core.recovery.density import Density, Displacement, density_of
from gradewright.core.recovery.measured import rounded, rounded_outwards
from gradewright.core.rulebook import Rulebook
from gradewright.core.spanning import graded_between, of_either, possible_values
from gradewright.core.units import trimmed
from gradewright.recoveries import cautions
from gradewright.recoveries.cable import Found
from gradewright.recoveries.given import Displaced
from gradewright.recoveries.reading import observations
from gradewright.recoveries.shapes import graded, grades_left
from gradewright.rulebooks.service import Version

PLACES = 3
LEAST = Decimal("0.001")
METAL = "metal"
PRECIOUS = {"gold", "palladium", "platinum"}
LOOSE = ("assembly", "none")
NOTES = [
    "A hollow or porous piece, or one with bubbles on it, comes out too light: knock the bubbles off, and "
    "where nothing fits, cut it.",
    "Two metals in one piece come out in between, and a plated piece as what is under the plate.",
    "Taken to be a loose piece of metal, unless it was observed to be an assembly.",
]
CLOSEST_FIRST = (
    "Metals are in the order in which their published density fits, the narrowest first, and then those of "
    "which none does. So are grades: first those of metals that fit, of these those of the fewest metals. "
    "How common each is, or what else it looks like, is not in it."
)
AS_IN_THE_RULEBOOK = frozenset({"1"})
"""The methods by which metals and grades were told in the order of the rulebook."""


def answer(what: Displaced, version: Version, prices: PriceList | None, method: str) -> Found:
    """The density, the metals that it leaves, and the grades. Raises Refused with every fault."""
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
    by_rulebook = possible_values(version.grader, observed, "density", low, high, METAL)
    metals = tuple(metal for metal in by_rulebook if not too_light(metal, Fraction(low)))
    cases = [observed] if metals == by_rulebook else [{**observed, METAL: metal} for metal in metals]
    spans = [graded_between(version.grader, case, "density", low, high) for case in cases]
    unlisted = _unlisted(version.rulebook, found)
    grades = graded(version.grader, of_either(spans), prices)
    notes = NOTES
    if method not in AS_IN_THE_RULEBOOK:
        metals = tuple(sorted(metals, key=lambda metal: _looseness(metal, found)))
        each_metal = [{**observed, METAL: metal} for metal in metals]
        of_metals = [graded_between(version.grader, case, "density", low, high) for case in each_metal]
        _sort(grades["candidates"], metals, [of_one.outcome for of_one in of_metals], found)
        notes = [*NOTES, CLOSEST_FIRST]
    shown: dict[str, Any] = {
        "density": {
            "low": f"{trimmed(low)} g/cm3",
            "likely": f"{trimmed(likely)} g/cm3",
            "high": f"{trimmed(high)} g/cm3",
            "attribute": "density",
            "metals": [_metal(metal, found) for metal in metals],
            "unlisted": [_published(material) for material in unlisted],
            "rests_on": [found.rests_on],
            "says": _says(metals, unlisted, found, (low, high)),
        },
        "grading": {
            **grades,
            "bands": [],
            "house_limits": [],
        },
        "notes": notes,
    }
    told = [
        cautions.of_range(version.grader, case, "density", spanned)
        for case, spanned in zip(cases, spans, strict=True)
    ]
    may_be_precious = any(material.metal in PRECIOUS for material in unlisted)
    refining = cautions.of_work(version.grader, cautions.REFINING if may_be_precious else ()).certain
    return Found(shown, cautions.together(*told, Concerning((), refining), everywhere=True))


def _unlisted(book: Rulebook, found: Density) -> tuple[Material, ...]:
    """The materials that fit and that the version has no word for."""
    attribute = book.attributes.get(METAL)
    words = () if attribute is None else attribute.choices
    return tuple(material for material in found.materials if material.metal not in words)


def _looseness(metal: str, found: Density) -> tuple[bool, Fraction]:
    """How wide the narrowest published density of a metal is that fits; last where none does."""
    widths = [each.high - each.low for each in found.materials if each.metal == metal]
    return not widths, min(widths, default=Fraction(0))


def _sort(
    candidates: list[dict[str, Any]], metals: tuple[str, ...], outcomes: list[Outcome], found: Density
) -> None:
    """Grades of metals whose published density fits first, and of these those of the fewest metals."""
    of_grade: dict[str, list[int]] = {}
    for number, outcome in enumerate(outcomes):
        for grade in grades_left(outcome):
            of_grade.setdefault(grade, []).append(number)

    def key(candidate: dict[str, Any]) -> tuple[bool, int, int]:
        numbers = of_grade.get(candidate["grade"])
        if numbers is None:
            return True, len(metals) + 1, len(metals)
        return _looseness(metals[numbers[0]], found)[0], len(numbers), numbers[0]

    candidates.sort(key=key)


def _metal(metal: str, found: Density) -> dict[str, Any]:
    """A metal that can be, with the published densities that fit: none where only the margin allows it."""
    fitting = [_published(material) for material in found.materials if material.metal == metal]
    return {"metal": metal, "published": fitting}


def _published(material: Material) -> dict[str, str]:
    return {
        "material": material.name,
        "low": f"{trimmed(rounded(material.low, PLACES))} g/cm3",
        "high": f"{trimmed(rounded(material.high, PLACES))} g/cm3",
        "source": material.source,
    }


def _says(
    metals: tuple[str, ...], unlisted: tuple[Material, ...], found: Density, span: tuple[Decimal, Decimal]
) -> str:
    low, high = map(trimmed, span)
    told = [f"Between {low} and {high} g/cm3."]
    if not metals:
        told.append("No metal of the rulebook goes with that and with what was observed.")
    close = [metal for metal in metals if any(each.metal == metal for each in found.materials)]
    if close:
        told.append(f"The published density of {', '.join(close)} fits.")
    elif metals:
        told.append("No published density of these fits.")
    if unlisted:
        names = ", ".join(material.name for material in unlisted)
        told.append(f"Of what the rulebook has no word for: {names}.")
    others = [metal for metal in metals if metal not in close]
    if others:
        told.append(f"Not ruled out: {', '.join(others)}.")
    return " ".join(told)
