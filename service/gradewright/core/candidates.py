"""Which answers some completion of the unknown observations can still reach, exactly."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

from gradewright.core.decision import Axis, DecisionIndex

Key = TypeVar("Key")
Answer = TypeVar("Answer")

KEPT = 20_000  # answers remembered per rulebook, each a few hundred bytes


@dataclass(frozen=True, slots=True)
class Reach:
    """The rules that completions can end at, by clause number, and whether some end at none."""

    rules: tuple[int, ...]
    none: bool


class Completions:
    """Searches the completions of a partly known part: one branch per distinguishable value that matters."""

    def __init__(self, index: DecisionIndex, grades: list[str]) -> None:
        self._index = index
        self._grade_of = grades
        self._axes_by_name = index.axes
        self._can_be: dict[tuple[int, int], bool] = {}
        self._reached: dict[tuple[int, int, int], Reach] = {}

    def can_be(self, possible: int, known: int, without: int = 0) -> bool:
        """Whether some completion meets none of the impossible descriptions that are still possible, nor of
        the clauses `without`.
        """
        left = possible & (self._index.impossible_bits | without)
        if not left:
            return True
        key = (left, known)
        found = self._can_be.get(key)
        if found is None:
            found = self._search_being(left, known)
            _remember(self._can_be, key, found)
        return found

    def reach(self, possible: int, known: int, without: int = 0) -> Reach:
        """The rules that completions end at; one rule stands for each grade that is reached.

        Of completions that meet one of the clauses `without` nothing is told, as if they could not be.
        """
        index = self._index
        key = (possible & (index.impossible_bits | index.rule_bits | without), known, without)
        found = self._reached.get(key)
        if found is None:
            found = self._search_rules(*key)
            _remember(self._reached, key, found)
        return found

    def _search_being(self, left: int, known: int) -> bool:
        if left & self._index.settled(known):
            return False
        axis = self._open_axis((left & -left).bit_length() - 1, known)
        branches = {left & mask for mask in axis.masks}
        return any(
            self.can_be(branch, known | axis.bit, branch) for branch in sorted(branches, key=int.bit_count)
        )

    def _search_rules(self, possible: int, known: int, without: int) -> Reach:
        index, ends, grades_found = self._index, set[int](), set[str | None]()
        impossible = index.impossible_bits | without
        seen = {(possible, known)}
        stack = [(possible, known)]
        while stack:
            possible, known = stack.pop()
            settled = index.settled(known)
            if possible & impossible & settled:
                continue
            rules = possible & index.rule_bits
            if grades_found and self._ends_of(rules, settled) <= grades_found:
                continue
            first = (rules & -rules).bit_length() - 1
            if not rules or settled >> first & 1:
                if self.can_be(possible, known, without):
                    grades_found.add(self._grade_of[first - index.first_rule] if rules else None)
                    if rules:
                        ends.add(first)
                continue
            axis = self._open_axis(first, known)
            # Ordered, so that which rule stands for a grade is the same on every machine.
            for branch in dict.fromkeys(possible & mask for mask in reversed(axis.masks)):
                state = (branch, known | axis.bit)
                if state not in seen:
                    seen.add(state)
                    stack.append(state)
        return Reach(tuple(sorted(ends)), None in grades_found)

    def _ends_of(self, rules: int, settled: int) -> set[str | None]:
        """An upper bound of what is reached: the grades of possible rules down to the first certain one."""
        ends: set[str | None] = set()
        while rules:
            lowest = rules & -rules
            ends.add(self._grade_of[lowest.bit_length() - 1 - self._index.first_rule])
            if lowest & settled:
                return ends
            rules ^= lowest
        ends.add(None)
        return ends

    def _open_axis(self, clause: int, known: int) -> Axis:
        """The first attribute that a clause asks for and that is not known."""
        for condition in self._index.clauses[clause]:
            axis = self._axes_by_name[condition.attribute]
            if not known & axis.bit:
                return axis
        raise AssertionError("a settled clause has no open attribute")


def _remember(memory: dict[Key, Answer], key: Key, value: Answer) -> None:
    if len(memory) >= KEPT:
        memory.clear()
    memory[key] = value
