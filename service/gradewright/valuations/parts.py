"""A list of parts as given, read against one rulebook: all faults are found before any is told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from gradewright.core.errors import Fault, GradewrightError, Refused, UnknownGrade
from gradewright.core.rates import made
from gradewright.core.valued import Part
from gradewright.rulebooks.service import Version, resolve_grade
from gradewright.valuations.weights import Weight, weigh

MOST_FAULTS = 100  # looking for what a wrong word may have meant takes time


@dataclass(frozen=True, slots=True)
class PartGiven:
    """A part in the words of the request: weight as written, observations untyped, a grade by any name."""

    name: str
    count: int = 1
    weight: str | None = None
    weight_each: str | None = None
    observed: Mapping[str, Any] | None = None
    grade: str | None = None


def read_parts(given: Sequence[PartGiven], version: Version) -> tuple[list[Part], list[Weight]]:
    """The parts, typed, and their weights as given; both in the order of the request.

    Raises `UnknownGrade` or `Refused` with every fault, up to a hundred, each pointing into the list.
    """
    parts: list[Part] = []
    weights: list[Weight] = []
    describe = version.describe
    faults: list[Fault] = []
    kinds: set[type[GradewrightError]] = set()
    for number, part in enumerate(given):
        try:
            weight = weigh(part.weight, 1) if part.weight is not None else _weight(part)
            if part.grade is None:
                described = describe(part.observed or {})
                each = part.weight is None
                fields = (part.name, part.count, weight.grams, weight.ratio, described.grade, described, each)
                parts.append(made(Part, fields))
            else:
                parts.append(_read(part, weight, version))
            weights.append(weight)
        except GradewrightError:
            for error in _errors(part, version):
                kinds.add(type(error))
                faults.extend(fault.under("parts", number) for fault in error.faults)
            if len(faults) >= MOST_FAULTS:
                break
    if faults:
        del faults[MOST_FAULTS:]
        more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
        if len(faults) == MOST_FAULTS:
            more = f" (and {MOST_FAULTS - 1} more; the list was read no further)"
        detail = faults[0].detail + more
        kind = UnknownGrade if kinds == {UnknownGrade} else Refused
        raise kind(detail, faults=tuple(faults))
    return parts, weights


def _read(part: PartGiven, weight: Weight, version: Version) -> Part:
    if part.grade is not None:
        grade = resolve_grade(version.rulebook, part.grade, ("grade",))
        return Part(part.name, part.count, weight.grams, weight.ratio, grade, each=part.weight is None)
    try:
        described = version.describe(part.observed or {})
    except GradewrightError as error:
        raise type(error)(error.detail, faults=tuple(f.under("observed") for f in error.faults)) from error
    each = part.weight is None
    return Part(part.name, part.count, weight.grams, weight.ratio, described.grade, described, each)


def _weight(part: PartGiven) -> Weight:
    """The weight of all pieces together."""
    field, text, pieces = ("weight", part.weight, 1)
    if text is None:
        field, text, pieces = ("weight_each", part.weight_each, part.count)
    try:
        return weigh(text or "", pieces)
    except GradewrightError as error:
        found = error.faults or (Fault(error.detail),)
        raise Refused(error.detail, faults=tuple(fault.under(field) for fault in found)) from error


def _errors(part: PartGiven, version: Version) -> list[GradewrightError]:
    """Everything that is wrong with one part: its weight as well as its description."""
    errors: list[GradewrightError] = []
    weight = weigh("1 g", 1)
    try:
        weight = _weight(part)
    except GradewrightError as error:
        errors.append(error)
    try:
        _read(part, weight, version)
    except GradewrightError as error:
        errors.append(error)
    return errors
