"""How common each outcome is, as far as examples tell, and what a test would then answer.

A mixture of patterns: each worked example that ends in one answer is one, and so is each rule, for what no
example shows; a caller may hand in more, such as parts that were described before, with how many there were.
What a pattern does not tell is taken for any of the values that can go with it, each as likely. Weights are
whole numbers, so that every machine finds the same.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from gradewright.core.answers import Answers, Branch, State, Weighed
from gradewright.core.observations import Observed
from gradewright.core.uncertainty import folded

if TYPE_CHECKING:
    from gradewright.core.decision import Axis
    from gradewright.core.grading import Grader

WHOLE = (
    1 << 90
)  # what one part weighs: wide enough to be divided by how many values a score of attributes have
SHOWN_NOWHERE = 4  # a rule weighs a fourth of an example, and so does all that no rule grades


@dataclass(frozen=True, slots=True)
class Case:
    """A description, and how many parts were described so."""

    observed: Observed
    times: int = 1


class Belief:
    """The patterns of one rulebook, as bitsets; made once per rulebook, shared by all who ask."""

    def __init__(self, grader: Grader, cases: Iterable[Case] = ()) -> None:
        """`cases` are counted beside the rulebook's own examples; those without one answer tell nothing."""
        self._grader = grader
        self._index = index = grader.index
        self._axes = list(index.axes.values())
        self._outcomes: list[str | None] = []
        self._weights: list[int] = []
        # By attribute: for each value the patterns that it fits, and for each pattern how many values fit.
        self._fits: dict[int, list[int]] = {axis.bit: [0] * len(axis.cells) for axis in self._axes}
        self._values: dict[int, list[int]] = {axis.bit: [] for axis in self._axes}
        self._add_cases((Case(example.part) for example in grader.rulebook.examples), cases)
        for number, rule in enumerate(grader.rulebook.rules, start=index.first_rule):
            self._add(rule.grade, WHOLE // SHOWN_NOWHERE, partial(_leaves, 1 << number))
        self._add(None, WHOLE // SHOWN_NOWHERE, partial(_leaves, index.all_bits))
        everything = (1 << len(self._outcomes)) - 1
        self._all = everything
        self._fit_any = {bit: _all_of(columns, everything) for bit, columns in self._fits.items()}

    def state(self, possible: int, known: int) -> State:
        """What the patterns make of a part that was matched against the index."""
        fitting = self._all
        for axis in self._axes:
            if known & axis.bit:
                # The value itself is not kept: it is among those that leave all that is possible so.
                columns = self._fits[axis.bit]
                fitting &= _any_of(columns[n] for n, mask in enumerate(axis.masks) if not possible & ~mask)
        return State(possible, known, fitting)

    def weighed(self, state: State, ends: frozenset[str | None]) -> Weighed:
        """The patterns that fit and end at one of these outcomes, weighed by how common they are then."""
        known = [self._values[axis.bit] for axis in self._axes if state.known & axis.bit]
        weights: dict[int, int] = {}
        by_outcome: dict[str | None, int] = {}
        for pattern in _numbers(state.fitting):
            outcome = self._outcomes[pattern]
            if outcome in ends:
                ways = 1
                for values in known:
                    ways *= values[pattern]
                weight = weights[pattern] = self._weights[pattern] // ways
                by_outcome[outcome] = by_outcome.get(outcome, 0) + weight
        return Weighed(state, weights, by_outcome, sum(map(folded, by_outcome.values())))

    def told(self, weighed: Weighed, axis: Axis) -> dict[str | None, int]:
        """How common each outcome is among the patterns that tell something of an attribute."""
        weights, outcomes = weighed.weights, self._outcomes
        found: dict[str | None, int] = {}
        for pattern in _numbers(weighed.state.fitting & ~self._fit_any[axis.bit]):
            weight = weights.get(pattern)
            if weight is not None:
                outcome = outcomes[pattern]
                found[outcome] = found.get(outcome, 0) + weight
        return found

    def answers(self, weighed: Weighed, axis: Axis, told: dict[str | None, int] | None = None) -> Answers:
        """The answers that a test can still give and that rules tell apart; `told` if it is there already."""
        state, weights = weighed.state, weighed.weights
        known, can_be = state.known | axis.bit, self._grader.completions.can_be
        columns, values, outcomes = self._fits[axis.bit], self._values[axis.bit], self._outcomes
        cells: dict[int, list[int]] = {}
        for number, mask in enumerate(axis.masks):
            cells.setdefault(state.possible & mask, []).append(number)
        telling = state.fitting & ~self._fit_any[axis.bit]
        branches = []
        for possible, numbers in cells.items():
            if not can_be(possible, known):
                continue
            fitting, own = 0, dict[str | None, int]()
            for number in numbers:
                fitting |= columns[number]
                for pattern in _numbers(telling & columns[number]):
                    weight = weights.get(pattern)
                    if weight is not None:
                        outcome = outcomes[pattern]
                        own[outcome] = own.get(outcome, 0) + weight // values[pattern]
            branches.append(Branch(State(possible, known, state.fitting & fitting), len(numbers), own))
        if told is None:
            told = self.told(weighed, axis)
        return Answers(axis, weighed, len(axis.cells), told, branches)

    def _add_cases(self, *lots: Iterable[Case]) -> None:
        index, reach = self._index, self._grader.completions.reach
        rules = self._grader.rulebook.rules
        for case in (case for lot in lots for case in lot):
            possible, known = index.match(case.observed)
            found = reach(possible, known)
            ends: set[str | None] = {rules[number - index.first_rule].grade for number in found.rules}
            if len(ends) + found.none != 1:
                continue
            told = {name: index.axes[name].cell_of(value) for name, value in case.observed.items()}
            fits = partial(self._goes_with, told, possible & index.impossible_bits, known)
            self._add(None if found.none else ends.pop(), WHOLE * case.times, fits)

    def _goes_with(self, told: dict[str, int], impossible: int, known: int, axis: Axis) -> list[bool]:
        """For each value whether a description tells it, or leaves it possible without telling."""
        cell = told.get(axis.attribute.name)
        if cell is not None:
            return [number == cell for number in range(len(axis.cells))]
        certain = impossible & self._index.settled(known | axis.bit)
        return [not certain & mask for mask in axis.masks]

    def _add(self, outcome: str | None, weight: int, fits: Callable[[Axis], Iterable[object]]) -> None:
        bit = 1 << len(self._outcomes)
        self._outcomes.append(outcome)
        self._weights.append(weight)
        for axis in self._axes:
            columns, count = self._fits[axis.bit], 0
            for number, fit in enumerate(fits(axis)):
                if fit:
                    columns[number] |= bit
                    count += 1
            self._values[axis.bit].append(count)


def _leaves(clauses: int, axis: Axis) -> list[int]:
    """For each value whether it leaves one of the clauses possible."""
    return [mask & clauses for mask in axis.masks]


def _any_of(columns: Iterable[int]) -> int:
    found = 0
    for column in columns:
        found |= column
    return found


def _all_of(columns: Iterable[int], found: int) -> int:
    for column in columns:
        found &= column
    return found


def _numbers(bits: int) -> list[int]:
    found = []
    while bits:
        lowest = bits & -bits
        found.append(lowest.bit_length() - 1)
        bits ^= lowest
    return found
