"""What of a bin was accepted as the next cheaper grade, and is on the lines of that; and what may have been.

Which grade is below which is what hauls go by (`settlements.lower`), and how finely was weighed is seen from
the weights as they are written (`settlements.scales`).
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Sequence
from dataclasses import dataclass
from functools import partial

from gradewright.core.accepted import MarkedDown
from gradewright.core.linked import Linked, Moved
from gradewright.core.marked import MayBe, may_be
from gradewright.core.moved import Doubt, moved
from gradewright.core.settlement import Settlement
from gradewright.core.ticket import Ticket
from gradewright.settlements.expected import Expected
from gradewright.settlements.given import Request
from gradewright.settlements.lower import BROUGHT_ALONE, lower_grades
from gradewright.settlements.matching import Meant
from gradewright.settlements.scales import halves
from gradewright.settlements.words import named_lines

MOVED_UNSEEN = frozenset({"1", "2"})
"""The methods by which it was weight that is missing of the one grade, and too much of the other."""
BY_HAND_UNTOLD = frozenset({"1", "2", "3", "4"})
"""The methods that told nothing of what was marked down on lines that stand for a bin by hand."""
SAME_IS_SURE = frozenset({"3", "4"})
"""The methods that told it for certain also where both are off by no more than two scales differ, if it is by
the same to the last digit: so is one honest ticket in eighty."""


DEDUCTED_ALONE = frozenset({"3", "4", "5"})
"""The methods that did not ask whether what was deducted on one line is what is over on another."""
ALL_OR_NONE = frozenset({"4", "5"})
"""The methods by which a line may be of all bins together that are short, and not of some."""


@dataclass(frozen=True, slots=True)
class MaybeMoved:
    """Lines with more than their bin, and bins that are short: why it is unclear, and what to write if so
    (`meant`) and if not (`not_so`).
    """

    bins: tuple[str, ...]
    accepted_as: str
    lines: tuple[int, ...]
    because: str
    meant: tuple[Meant, ...]
    not_so: tuple[Meant, ...]


def found_moved(
    request: Request,
    ticket: Ticket,
    expected: Expected,
    groups: Sequence[Linked],
    by_hand: Container[int],
    method: str,
) -> tuple[list[Moved], list[Doubt]]:
    """What moved for certain, and what is in doubt."""
    if method in MOVED_UNSEEN:
        return [], []
    bins = [each.bin for each in expected.bins]
    lower = lower_grades(ticket, expected, method)
    sure = method in SAME_IS_SURE
    weighed = partial(halves, request, ticket, expected, method)
    on_scale = method in DEDUCTED_ALONE
    return moved(ticket, bins, groups, by_hand, lower, weighed, same_is_sure=sure, on_scale=on_scale)


def found_unexpected(
    request: Request, ticket: Ticket, expected: Expected, groups: Sequence[Linked], method: str
) -> list[MayBe]:
    """What lines that stand for no bin may be, where the method looks for it."""
    if method in BROUGHT_ALONE:
        return []
    bins = [each.bin for each in expected.bins]
    lower = lower_grades(ticket, expected, method)
    weighed = partial(halves, request, ticket, expected, method)
    return may_be(ticket, bins, groups, lower, weighed, all_or_none=method in ALL_OR_NONE)


def downs(
    settlement: Settlement, moved: Iterable[Moved], expected: Expected, method: str
) -> list[MarkedDown]:
    """All that was accepted as a cheaper grade, in the order of bins: what moved, and what is so by hand, or
    may be.
    """
    found = [MarkedDown(at.bin, _grade(expected, at.into), at.grams, at.lines) for at in moved]
    if method not in BY_HAND_UNTOLD:
        found += settlement.marked_down
    return sorted(found, key=lambda down: (down.bin, down.lines))


def maybe(doubts: Iterable[Doubt], expected: Expected) -> list[MaybeMoved]:
    """What is in doubt, with what to write."""
    found = []
    for doubt in doubts:
        upper = [_grade(expected, place) for place in doubt.bins]
        lower = _grade(expected, doubt.into)
        not_so = tuple(Meant(line + 1, lower, None) for line in doubt.lines)
        also = tuple(Meant(line + 1, grade, None) for line in doubt.lines for grade in upper)
        because = _because(doubt, expected)
        lines = tuple(line + 1 for line in doubt.lines)
        found.append(MaybeMoved(tuple(upper), lower, lines, because, (*not_so, *also), not_so))
    return found


def _because(doubt: Doubt, expected: Expected) -> str:
    lower, upper = names(expected, doubt.into), names(expected, *doubt.bins)
    weigh, them = ("weighs", "it") if len(doubt.lines) == 1 else ("weigh", "them")
    which = named_lines(doubt.lines).capitalize()
    if doubt.deducted:
        return (
            f"{which} {weigh} more than was brought as {lower}, by what was deducted of {upper}. Whether "
            f"that was accepted as {lower} cannot be told from the weights: match {them} by hand, with the "
            "bin that it came from as well, or with its own alone."
        )
    return (
        f"{which} {weigh} more than was brought as {lower}, and of {upper} there is less. Whether some "
        f"of that was accepted as {lower}, and how much, cannot be told from the weights: match {them} by "
        "hand, with the bin that it came from as well, or with its own alone."
    )


def _grade(expected: Expected, place: int) -> str:
    grade = expected.bins[place].bin.grade
    if grade is None:
        raise AssertionError("only what has a grade can move into another")
    return grade


def names(expected: Expected, *places: int) -> str:
    """The names of the grades of bins."""
    grades = expected.version.rulebook.grades
    return " and ".join(grades[_grade(expected, place)].name for place in places)
