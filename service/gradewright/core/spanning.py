"""Grading where one measure is only known to lie between two values: every grade that a value in between
gives.

An attribute's values fall into cells between the cut points of the rulebook, within which nothing changes:
one value of each cell, and the cut points themselves, are graded. What the rulebook says cannot be is left
out, unless nothing else is left.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from gradewright.core.decimals import EXACT
from gradewright.core.errors import Fault, Refused
from gradewright.core.grading import Contradiction, Graded, Grader, Outcome, Undecided, Ungraded
from gradewright.core.observations import Observed

HALF = Decimal("0.5")


@dataclass(frozen=True, slots=True)
class Span:
    """Values that are graded alike, from `low` to `high`, one `inside`, and their outcome."""

    low: Decimal
    high: Decimal
    inside: Decimal
    outcome: Outcome


@dataclass(frozen=True, slots=True)
class Spanned:
    """The spans, ascending, and what they come to together."""

    spans: tuple[Span, ...]
    outcome: Outcome


def graded_between(grader: Grader, observed: Observed, name: str, low: Decimal, high: Decimal) -> Spanned:
    """The outcome for a measure that lies from `low` to `high`, beside what else was observed.

    Raises Refused where the rulebook has no such attribute.
    """
    spans = tuple(
        Span(start, end, inside, grader.grade({**observed, name: inside}))
        for start, inside, end in _cells(grader, name, low, high)
    )
    can_be = [span.outcome for span in spans if not isinstance(span.outcome, Contradiction)]
    return Spanned(spans, _together(can_be) if can_be else spans[0].outcome)


def of_either(cases: Sequence[Spanned]) -> Outcome:
    """What several descriptions come to together of which one is true; of none there is no grade."""
    can_be = [each.outcome for each in cases if not isinstance(each.outcome, Contradiction)]
    return cases[0].outcome if cases and not can_be else _together(can_be)


def possible_values(
    grader: Grader, observed: Observed, name: str, low: Decimal, high: Decimal, choice: str
) -> tuple[str, ...]:
    """The values of a choice that no impossible description excludes for a measure from `low` to `high`."""
    wanted = grader.rulebook.attributes.get(choice)
    if wanted is None:
        raise _unknown(grader, choice)
    values = [str(observed[choice])] if choice in observed else list(wanted.choices)
    cells = _cells(grader, name, low, high)

    def can_be(value: str) -> bool:
        seen = {**observed, choice: value}
        return any(
            not isinstance(grader.grade({**seen, name: inside}), Contradiction) for _, inside, _ in cells
        )

    return tuple(value for value in values if can_be(value))


def _cells(grader: Grader, name: str, low: Decimal, high: Decimal) -> list[tuple[Decimal, Decimal, Decimal]]:
    """Start, a value inside, and end of every cell between the two, ascending."""
    axis = grader.index.axes.get(name)
    if axis is None:
        raise _unknown(grader, name)
    cuts = [cut for cut in axis.cuts if isinstance(cut, Decimal)]
    marks = sorted({low, high, *(cut for cut in cuts if low < cut < high)})
    cells = [(low, low, low)]
    for start, end in pairwise(marks):
        cells.append((start, EXACT.multiply(EXACT.add(start, end), HALF), end))
        cells.append((end, end, end))
    return cells


def _together(outcomes: Iterable[Outcome]) -> Outcome:
    grades: dict[str, Graded | None] = {}
    none = False
    for outcome in outcomes:
        if isinstance(outcome, Graded):
            grades.setdefault(outcome.grade, outcome)
        elif isinstance(outcome, Undecided):
            none = none or outcome.may_be_ungraded
            grades |= {grade: None for grade in outcome.candidates if grade not in grades}
        else:
            none = True
    if not grades:
        return Ungraded()
    only = next(iter(grades.values()))
    if len(grades) == 1 and not none and only is not None:
        return only
    return Undecided(tuple(grades), none)


def _unknown(grader: Grader, name: str) -> Refused:
    detail = (
        f"Rulebook {grader.rulebook.version} has no attribute {name}, so that version says nothing of it. "
        "Name another with `rulebook`."
    )
    return Refused(detail, faults=(Fault(detail, ("rulebook",)),))
