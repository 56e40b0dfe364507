"""Limits of which a place may have its own value, and with it parts that change their grade though by the
versions' own limits none does: a limit under another name, a value in its place, rules that only look alike.

By the solver, over all parts and all values at once: each limit is a number that may be any. No place is
asked what it says: where nothing is found, no part changes its grade at any place, whatever it says.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import z3

from gradewright.core.observations import Attribute, Kind, Value
from gradewright.core.rulebook import Bound, Rulebook, When
from gradewright.rulebooks.comparer import Comparer, End, Progress
from gradewright.rulebooks.comparison_apart import ExactParts
from gradewright.rulebooks.solving import Formula

MOST_PAIRS = 4
Line = tuple[str, Kind, Value]
"""A limit, what it is used for, and its value by a version; where two have the same, it is one line."""


@dataclass(frozen=True, slots=True)
class AtPlaces:
    """Limits (several: together) of which some place's own value moves parts between these ends, as none move
    by the versions' own. `complete`: whether these pairs of ends are all."""

    limits: Sequence[str]
    moves: Sequence[tuple[End, End]]
    complete: bool


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
    old: Rulebook,
    new: Rulebook,
    renamed: Mapping[str, str],
    tell: Progress,
    known: Sequence[tuple[End, End]] = (),
) -> list[AtPlaces]:
    """The limits of which a value of a place's own makes some part end otherwise, each by itself; where none
    does alone, those that do together.

    `known`: the moves by the versions' own limits. Where there are any, only others are looked for, and only
    of parts that have a grade by the first version.
    """
    comparer = _AtPlaces(old, new, renamed)
    looking = _Looking(comparer, _other_moves(comparer, known), (*old.limits, *new.limits))
    alone = []
    for number, name in enumerate(looking.own):
        tell("limits of places", number, len(looking.own))
        if looking.some([name]):
            alone.append(looking.found([name]))
    needed = list(looking.own)
    if alone or not looking.some(needed):
        return alone
    for name in looking.own:
        if looking.some(fewer := [each for each in needed if each != name]):
            needed = fewer
    return [looking.found(needed)]


def _other_moves(comparer: Comparer, known: Sequence[tuple[End, End]]) -> Formula:
    """That a part ends otherwise, and not by a move that is known."""
    moved = z3.Not(comparer.same)
    if not known:
        return moved
    parts = comparer.parts
    before, after = comparer.ends[id(comparer.old)], comparer.ends[id(comparer.new)]
    graded = parts.any_of(formula for end, formula in before.items() if end.grade)
    told = parts.any_of(z3.And(before[came], after[goes]) for came, goes in known)
    return z3.And(moved, graded, z3.Not(told))


class _Looking:
    """Looks for parts that move where some limits may be any, and the others are the versions' own."""

    def __init__(self, comparer: _AtPlaces, moved: Formula, names: Iterable[str]) -> None:
        self._comparer, parts = comparer, comparer.parts
        self._solver = parts.solver(moved)
        self.own, self._free = dict[str, Formula](), dict[str, Formula]()
        for name in dict.fromkeys(names):
            lines = {line: variable for line, variable in parts.lines.items() if line[0] == name}
            if not lines:
                continue
            own = self.own[name] = parts.fresh(f"own {name}")
            free = self._free[name] = parts.fresh(f"free {name}")
            self._solver.add(
                *(z3.Implies(own, each == parts.number(line[2])) for line, each in lines.items())
            )
            # What a place says is read by each version as it can: of two kinds no value is both.
            alike = (pair for pair in combinations(lines, 2) if pair[0][1] is pair[1][1])
            self._solver.add(*(z3.Implies(free, lines[one] == lines[other]) for one, other in alike))

    def some(self, names: Sequence[str]) -> bool:
        """Whether some part moves where these limits may be any."""
        lines = ((self._free if name in names else self.own)[name] for name in self.own)
        return bool(self._solver.check(*lines) != z3.unsat)

    def found(self, names: Sequence[str]) -> AtPlaces:
        """Between which ends parts move then."""
        moves = list[tuple[End, End]]()
        self._solver.push()
        while (more := self.some(names)) and len(moves) < MOST_PAIRS:
            came, goes, both = self._comparer.moved_in(self._solver.model())
            moves.append((came, goes))
            self._solver.add(z3.Not(both))
        self._solver.pop()
        return AtPlaces(list(names), moves, not more)
