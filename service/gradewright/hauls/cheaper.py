"""Whether a grade as which a bin may be sold is a cheaper one: by the order of grades, and by what yards pay.

Where neither tells, it is taken as it is asked: whether a yard takes it so is the yard's to say.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from gradewright.core.errors import Fault, Refused
from gradewright.core.haul.plan import Step, reached
from gradewright.core.rulebook import Grade
from gradewright.hauls.bins import Bin
from gradewright.hauls.buyers import Offers
from gradewright.hauls.lower_kin import lower_kin


def refuse_dearer(bins: Sequence[Bin], offers: Sequence[Offers], grades: Mapping[str, Grade]) -> None:
    """Raises `Refused` with every grade named for a bin that is above its own, or that every yard asked about
    that buys both pays more for.
    """
    faults = [
        Fault(f"{why} {_instead(bin_, grades)}", ("bins", number, "lower_to", place), _below(bin_, grades))
        for number, bin_ in enumerate(bins)
        for place, grade in enumerate(bin_.named)
        for why in _not_cheaper(bin_, grade, offers, grades)
    ]
    if faults:
        more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
        raise Refused(faults[0].detail + more, faults=tuple(faults))


def _not_cheaper(
    bin_: Bin, grade: str, offers: Sequence[Offers], grades: Mapping[str, Grade]
) -> Iterator[str]:
    """Why a grade is none that a bin goes down into; nothing where it may be one."""
    named, own = grades[grade].name, grades[bin_.grade].name
    if grade == bin_.grade or grade in _below(bin_, grades):
        return
    if bin_.grade in lower_kin(grades, grade):
        yield f"{named} is above {own}, and no cheaper grade."
        return
    paid = [
        (_at(steps[grade], bin_), _at(steps[bin_.grade], bin_))
        for steps in (of.buyer().steps for of in offers)
        if grade in steps and bin_.grade in steps
    ]
    if paid and all(other > this for other, this in paid):
        yield f"Every yard asked about that buys both pays more for {named} than for {own}: it is no cheaper."


def _at(steps: tuple[Step, ...], bin_: Bin) -> Fraction:
    """What is paid for a gram of a pile of the bin alone; where it is too light for any price, the first."""
    scale = steps[reached(steps, Fraction(bin_.grams)) or 0].scale
    return Fraction(scale.likely, scale.under)


def _below(bin_: Bin, grades: Mapping[str, Grade]) -> tuple[str, ...]:
    return lower_kin(grades, bin_.grade)


def _instead(bin_: Bin, grades: Mapping[str, Grade]) -> str:
    below = _below(bin_, grades)
    return f"Write some of {', '.join(below)}, or an empty list." if below else "Write an empty list."
