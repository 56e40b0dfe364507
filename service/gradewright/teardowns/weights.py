"""What each piece in a device weighs, in grams: as weighed, or from low to high, or by what comes out."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from gradewright.core.errors import GradewrightError, Path
from gradewright.core.teardown.tree import NONE, Span
from gradewright.core.units import parse_mass
from gradewright.teardowns.faults import Faults
from gradewright.teardowns.given import NodeGiven, WeightGiven
from gradewright.teardowns.usual_parts import Inside, UsualParts
from gradewright.valuations.weights import HEAVIEST

ENDS = ("low", "likely", "high")


class Place(NamedTuple):
    """A node of the request: what was given, where it stands, the number of the one it is in, how deep."""

    given: NodeGiven
    at: Path
    inside: int | None
    depth: int


def times(span: Span, factor: Fraction | int) -> Span:
    """All three times a factor that is not below zero."""
    if factor == 1:
        return span
    low, likely, high = span
    if low is likely is high:
        return Span.exactly(likely * factor)
    return Span(low * factor, likely * factor, high * factor)


def weigh_each(places: Sequence[Place], usual: UsualParts, faults: Faults) -> list[Span]:
    """What one piece of each node weighs. Where a part that opens was not weighed, it is what comes out of
    it; another one in a device of a kind is as heavy as is usual in such. Nothing where that is at fault.
    """
    found = [NONE] * len(places)
    inner: list[list[int]] = [[] for _ in places]
    eaches: list[Span | None] = [None] * len(places)

    def inside(number: int) -> list[Inside]:
        return [Inside(one, places[one].given, places[one].at, eaches[one]) for one in inner[number][::-1]]

    for number in range(len(places) - 1, -1, -1):
        place = places[number]
        each, left, known = _weighed(place, faults), _left(place), usual.of(place.given)
        if known is not None and any(eaches[one] is None for one in inner[number]):
            found_usual = usual.weigh(known, each, inside(number), left, faults)
            for one, span in found_usual.items():
                found[one] = span
            for one in inner[number]:
                eaches[one] = found[one]
        if each is None and inner[number]:
            together = [part.all for part in inside(number)] + ([] if left is None else [left])
            each = Span(*(sum(column, Fraction(0)) for column in zip(*together, strict=True)))
        around = None if place.inside is None else places[place.inside].given
        if each is None and (around is None or around.kind is None):
            detail = (
                f"{place.given.name} has no weight: weigh it, say what it weighs as low, likely and high, or "
                "name the kind of device that it is in, of which it may be a usual part."
            )
            faults.wrong(detail, (*place.at, "weight"))
            each = NONE
        found[number], eaches[number] = each or NONE, each
        if place.inside is not None:
            inner[place.inside].append(number)
    return found


def _weighed(place: Place, faults: Faults) -> Span | None:
    """What one piece weighs as was written; None where nobody weighed it."""
    given, at = place.given, place.at
    if given.weight is not None:
        span = read_weight(given.weight, (*at, "weight"), faults)
        return span if given.count == 1 else times(span, Fraction(1, given.count))
    if given.weight_each is not None:
        return read_weight(given.weight_each, (*at, "weight_each"), faults)
    return None


def _left(place: Place) -> Span | None:
    """What is left over of one piece, where that was told; its faults are told where it is read."""
    opens = place.given.opens
    left = None if opens is None else opens.leftover
    return None if left is None or left.weight is None else read_weight(left.weight, place.at, Faults())


def read_weight(given: WeightGiven, at: Path, faults: Faults) -> Span:
    """A weight as written; nothing where it is at fault."""
    if isinstance(given, str):
        return Span.exactly(_grams(given, at, faults))
    before = len(faults.found)
    span = Span(*(_grams(getattr(given, end), (*at, end), faults, ranged=True) for end in ENDS))
    if len(faults.found) == before and not span.low <= span.likely <= span.high > 0:
        faults.wrong("Low, likely and high have to follow each other, the high one above zero.", at)
    return span


def _grams(text: str, at: Path, faults: Faults, *, ranged: bool = False) -> Fraction:
    """`ranged`: it may be that there is nothing of it."""
    try:
        grams = parse_mass(text).grams
    except GradewrightError as error:
        faults.told(error, at)
        return Fraction(0)
    if not (grams > 0 or (ranged and not grams)) or grams > HEAVIEST:
        bound = "one above zero" if grams <= 0 else "one of at most a million tonnes"
        faults.wrong(f"{text!r} is no weight that a part can have: write {bound}, such as '1.35 kg'.", at)
        return Fraction(0)
    return Fraction(grams)
