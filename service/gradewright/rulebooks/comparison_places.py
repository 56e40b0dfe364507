"""Limits of which a place may have its own value, and with it parts that change their grade though by the
versions' own limits none does: a limit under another name, a value in its place, rules that only look alike.

By the solver, over all parts and all values at once: each limit is a number that may be any. No place is
asked what it says: where nothing is found, no part changes its grade at any place, whatever it says.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import combinations

import z3

from gradewright.core.observations import Attribute, Kind, Value
from gradewright.core.rulebook import Bound, Rulebook, When
from gradewright.rulebooks.comparer import Comparer, Progress
from gradewright.rulebooks.comparison_apart import ExactParts
from gradewright.rulebooks.solving import Formula

Line = tuple[str, Kind, Value]
"""A limit, what it is used for, and its value by a version; where two have the same, it is one line."""


class _FreeParts(ExactParts):
    """Parts held against lines that are not known."""

    def __init__(self, attributes: Mapping[str, Attribute], whens: Iterable[When]) -> None:
        super().__init__(attributes, whens)
        self.lines: dict[Line, Formula] = {}

    def line(self, name: str, bound: Bound) -> Formula:
        """The line that a limit draws: of a place's own choice."""
        if bound.limit is None:
            return super().line(name, bound)
        attribute = self.attributes[name]
        line = (bound.limit, attribute.kind, bound.value)
        if line not in self.lines:
            variable = self.lines[line] = z3.FreshConst(self.variable(name).sort(), bound.limit)
            self.definitions += self.domain(attribute, variable)
        return self.lines[line]


class _AtPlaces(Comparer):
    """Both versions over such parts."""

    parts: _FreeParts
    parts_of = _FreeParts


def of_places(
    old: Rulebook, new: Rulebook, renamed: Mapping[str, str], tell: Progress, *, graded: bool
) -> list[str]:
    """The limits of which a value of a place's own makes some part end otherwise, each by itself; where none
    does alone, those that do together. `graded`: of parts that have a grade by the first version."""
    comparer = _AtPlaces(old, new, renamed)
    parts, before = comparer.parts, comparer.ends[id(comparer.old)]
    moved = z3.Not(comparer.same)
    if graded:
        moved = z3.And(moved, parts.any_of(formula for end, formula in before.items() if end.grade))
    solver, own, free = parts.solver(moved), dict[str, Formula](), dict[str, Formula]()
    for name in dict.fromkeys((*old.limits, *new.limits)):
        lines = {line: variable for line, variable in parts.lines.items() if line[0] == name}
        if lines:
            own[name], free[name] = parts.fresh(f"own {name}"), parts.fresh(f"free {name}")
            solver.add(
                *(z3.Implies(own[name], each == parts.number(line[2])) for line, each in lines.items())
            )
            # What a place says is read by each version as it can: of two kinds no value is both.
            alike = (pair for pair in combinations(lines, 2) if pair[0][1] is pair[1][1])
            solver.add(*(z3.Implies(free[name], lines[one] == lines[other]) for one, other in alike))

    def some(names: list[str]) -> bool:
        """Whether some part ends otherwise where these limits may be any."""
        return bool(solver.check(*((free if name in names else own)[name] for name in own)) != z3.unsat)

    alone = []
    for number, name in enumerate(own):
        tell("limits of places", number, len(own))
        if some([name]):
            alone.append(name)
    if alone or not some(list(own)):
        return alone
    needed = list(own)
    for name in own:
        if some(fewer := [each for each in needed if each != name]):
            needed = fewer
    return needed
