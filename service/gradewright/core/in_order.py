"""Measures of one thing of which none is larger than the one before: no part is wider than it is long.

Between two cut points a smaller and a larger measure can always be chosen in their order, so what cannot be
is said exactly by clauses at the cut points of all of them together: the larger below one, the smaller not.
Only where both are known between the same two cut points they have to be held against each other.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import combinations

from gradewright.core.observations import Observed, Value
from gradewright.core.rulebook import Bound, Condition, LargestFirst, When

Marks = Mapping[str, Mapping[Value, str]]
"""For each attribute the values that clauses name, and how they are written."""


def marks_of(whens: Iterable[When]) -> dict[str, dict[Value, str]]:
    """The values at which the answer of some clause changes."""
    found: dict[str, dict[Value, str]] = {}
    for condition in (condition for when in whens for condition in when):
        marks = found.setdefault(condition.attribute, {})
        for bound in (condition.at_least, condition.above, condition.at_most, condition.below):
            if bound is not None:
                marks.setdefault(bound.value, bound.given)
        for value in condition.values:
            marks.setdefault(value, str(value))
    return found


def in_order(entries: Sequence[LargestFirst], whens: Iterable[When]) -> list[tuple[LargestFirst, When]]:
    """What the orders of measures rule out, at every value that one of `whens` names of one of them; each
    clause with the order that it is of.
    """
    known = marks_of(whens)
    return [
        (entry, when)
        for entry in entries
        for larger, smaller in combinations(entry.measures, 2)
        for value, given in _marks(known, _together(entry, entries)).items()
        for when in _at(larger, smaller, Bound(value, given))
    ]


def _at(larger: str, smaller: str, at: Bound) -> Iterator[When]:
    yield Condition(larger, below=at), Condition(smaller, at_least=at)
    yield Condition(larger, at_most=at), Condition(smaller, above=at)


def _marks(known: Marks, measures: Iterable[str]) -> dict[Value, str]:
    return {value: given for name in measures for value, given in known.get(name, {}).items()}


def _together(entry: LargestFirst, entries: Sequence[LargestFirst]) -> list[str]:
    """The measures of an order, and of those that share one with it: what parts one parts them all."""
    found = dict.fromkeys(entry.measures)
    while more := [e for e in entries if found.keys() & set(e.measures) and set(e.measures) - found.keys()]:
        found.update(dict.fromkeys(measure for each in more for measure in each.measures))
    return list(found)


def out_of_order(larger: str, smaller: str, observed: Observed) -> bool:
    """Whether both are known, and the smaller is more than the larger."""
    if larger not in observed or smaller not in observed:
        return False
    # Measures of one kind, so the comparison is between equals.
    return bool(observed[smaller] > observed[larger])  # type: ignore[operator]
