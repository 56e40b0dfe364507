"""Limits of which a place may have its own value, and with it parts that change their grade though by the
versions' own limits they do not: a limit under another name, a value in its place, rules that look alike.

By the solver, over all parts and all values at once: each limit is a number that may be any. No place is
asked what it says: where nothing is found, no such part changes its grade at any place, whatever it says.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import z3

from gradewright.core.observations import Attribute, Kind, Value
from gradewright.core.rulebook import Bound, Rulebook, When
from gradewright.rulebooks.comparer import End, Progress
from gradewright.rulebooks.comparison_apart import ExactParts
from gradewright.rulebooks.comparison_twice import Twice
from gradewright.rulebooks.solving import ENDS, Formula

MOST_PAIRS = 4
Line = tuple[str, Kind, Value]
"""A limit, what it is used for, and its value by a version; where two have the same, it is one line."""


@dataclass(frozen=True, slots=True)
class AtPlaces:
    """Limits (several: together) of which some place's own value moves parts between these ends that by the
    versions' own do not move, or not so. `complete`: whether these pairs of ends are all."""

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


class _AtPlaces(Twice):
    """Both versions over such parts, and by their own limits."""

    parts: _FreeParts
    parts_of = _FreeParts


def of_places(
    old: Rulebook,
    new: Rulebook,
    renamed: Mapping[str, str],
    tell: Progress,
    anyway: Sequence[tuple[End, End]] = (),
) -> list[AtPlaces]:
    """The limits of which a value of a place's own makes some part end otherwise that by the versions' own
    limits does not, or as none does by those, each by itself; where none does alone, those that do together.

    `anyway`: the moves by the versions' own limits. Where there are any, only parts are told that have a
    grade there by the first version; where such parts cannot be told any more, only what still can be.
    """
    comparer = _AtPlaces((old, new), (_without_limits(old), _without_limits(new)), renamed)
    looking = _Looking(
        comparer, comparer.moved_there(anyway, graded=bool(anyway)), (*old.limits, *new.limits)
    )
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


def _without_limits(book: Rulebook) -> Rulebook:
    """The same with values in the place of limits: so no place has a say."""

    def plain(when: When) -> When:
        return tuple(
            replace(
                condition,
                **{
                    end: bound and replace(bound, limit=None)
                    for end in ENDS
                    if (bound := getattr(condition, end))
                },
            )
            for condition in when
        )

    return replace(
        book,
        impossible=tuple(replace(entry, when=plain(entry.when)) for entry in book.impossible),
        rules=tuple(replace(rule, when=plain(rule.when)) for rule in book.rules),
    )


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
