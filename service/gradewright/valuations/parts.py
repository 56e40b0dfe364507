"""A list of parts as given, read against one rulebook: all faults are found before any is told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from gradewright.core.decimals import EXACT
from gradewright.core.errors import Fault, GradewrightError, Refused, UnknownGrade
from gradewright.core.observations import read_observations
from gradewright.core.rulebook import Rulebook
from gradewright.core.units import Mass, parse_mass
from gradewright.core.valuation import Part
from gradewright.rulebooks.service import resolve_grade

HEAVIEST = Decimal(10) ** 12  # grams: a million tonnes, beyond any yard's day


@dataclass(frozen=True, slots=True)
class PartGiven:
    """A part in the words of the request: weight as written, observations untyped, a grade by any name."""

    name: str
    count: int = 1
    weight: str | None = None
    weight_each: str | None = None
    observed: Mapping[str, Any] | None = None
    grade: str | None = None


def read_parts(given: Sequence[PartGiven], rulebook: Rulebook) -> list[Part]:
    """The parts, typed. Raises `UnknownGrade` or `Refused` with every fault, each pointing into the list."""
    parts: list[Part] = []
    faults: list[Fault] = []
    errors: list[GradewrightError] = []
    for number, part in enumerate(given):
        try:
            parts.append(_read(part, rulebook))
        except GradewrightError as error:
            errors.append(error)
            faults.extend(fault.under("parts", number) for fault in error.faults)
    if errors:
        detail = faults[0].detail + (f" (and {len(faults) - 1} more)" if len(faults) > 1 else "")
        kind = UnknownGrade if all(isinstance(error, UnknownGrade) for error in errors) else Refused
        raise kind(detail, faults=tuple(faults))
    return parts


def _read(part: PartGiven, rulebook: Rulebook) -> Part:
    """One part; every fault in it is told at once."""
    faults: list[Fault] = []
    mass = grade = observed = None
    unknown_grade = False
    try:
        mass = _mass(part)
    except GradewrightError as error:
        faults.extend(error.faults)
    try:
        if part.grade is not None:
            grade = resolve_grade(rulebook, part.grade, ("grade",))
        else:
            observed = read_observations(rulebook.attributes, part.observed or {})
    except UnknownGrade as error:
        unknown_grade = True
        faults.extend(error.faults)
    except GradewrightError as error:
        faults.extend(fault.under("observed") for fault in error.faults)
    if faults or mass is None:
        kind = UnknownGrade if unknown_grade and len(faults) == 1 else Refused
        raise kind(faults[0].detail, faults=tuple(faults))
    return Part(part.name, part.count, mass, observed, grade)


def _mass(part: PartGiven) -> Mass:
    """The weight of all pieces together."""
    field, text = ("weight", part.weight) if part.weight is not None else ("weight_each", part.weight_each)
    try:
        mass = parse_mass(text or "")
    except GradewrightError as error:
        found = error.faults or (Fault(error.detail),)
        raise Refused(error.detail, faults=tuple(fault.under(field) for fault in found)) from error
    grams = mass.grams if field == "weight" else EXACT.multiply(mass.grams, Decimal(part.count))
    if not 0 < grams <= HEAVIEST:
        detail = f"{text!r} is no weight that a part can have: write one above zero, such as '1.35 kg'."
        raise Refused(detail, faults=(Fault(detail, (field,)),))
    given = mass.given if field == "weight" else f"{part.count} x {mass.given}"
    return Mass(grams, given)
