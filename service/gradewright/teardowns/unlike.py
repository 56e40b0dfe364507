"""Weights that no device of a kind has by what was recorded of it: shares and minutes are of others.

A bin of motors is no motor of 300 lb, and takes the minutes of as many as are in it. So what weighs more or
less than every device of its kind, and far so, as records are held against each other (`core/unusual`), is
taken for one, or for as many as were told, only where their count was told; and what the answer then rests on
is said. Up to method 5 (`by_far`) it was enough that it was far off most, also where some weigh as much; by
method 6 (not `near`) a gram beyond the lightest or the heaviest was far.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from gradewright.compositions.kept import DeviceKind
from gradewright.core.composition import Typical
from gradewright.core.decimals import trimmed
from gradewright.core.unusual import Recorded, recorded
from gradewright.teardowns.figures import GRAMS_A_KILOGRAM, rounded
from gradewright.teardowns.reading import Part


def unlike(
    typical: Typical | None, grams: Fraction, *, by_far: bool = False, near: bool = True
) -> Recorded | None:
    """What was recorded, where one device weighs far more or less than that."""
    if typical is None:
        return None
    found = recorded((record for record, _ in typical.votes), by_far=by_far, near=near)
    return found if found is not None and found.unlike(grams) else None


def how_many(kind: DeviceKind, grams: Fraction, found: Recorded) -> str:
    """What to tell where nobody said how many devices a weight is of."""
    about = found.about(grams)
    some = f", such as {about}" if about > 1 else ""
    return (
        f"{_kilograms(grams)} kg is far {_more(grams, found)} than one {kind.name} weighs by what was "
        f"recorded, {_all(found)}: give `count`, how many they are{some}; where it is one all the same, "
        "`count` 1."
    )


def by_others(kind: DeviceKind, grams: Fraction, found: Recorded) -> str:
    """What shares and minutes rest on where a device weighs otherwise than all that were recorded."""
    return (
        f"One of {_kilograms(grams)} kg weighs far {_more(grams, found)} than any {kind.name} that was "
        f"recorded, {_all(found)}: shares and minutes are of those."
    )


def notes(parts: Sequence[Part], *, by_far: bool = False, near: bool = True) -> Iterator[str]:
    """The same of parts that are of a kind, in which something that nobody weighed is as usual."""
    for number in sorted({part.inside for part in parts if part.usual and part.inside is not None}):
        part = parts[number]
        if part.kind is not None and (part.given.weight or part.given.weight_each):
            each = part.grams.likely / part.pieces
            found = unlike(part.kind.typical, each, by_far=by_far, near=near)
            if found is not None:
                yield f"{part.given.name}: {by_others(part.kind.kind, each, found)}"


def _more(grams: Fraction, found: Recorded) -> str:
    return "more" if grams > found.median else "less"


def _all(found: Recorded) -> str:
    low, high = _kilograms(found.low), _kilograms(found.high)
    return f"{low} kg" if low == high else f"{low} to {high} kg"


def _kilograms(grams: Fraction) -> str:
    places = 1 if grams >= GRAMS_A_KILOGRAM else 3
    return trimmed(rounded(grams / GRAMS_A_KILOGRAM, places))
