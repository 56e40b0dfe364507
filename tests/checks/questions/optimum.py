"""The least that any order of questions can cost on average: by brute force over all parts.

Every part that a rulebook can tell from another is graded, each combination of values once. How common a part
is: each example is one part, of which what it does not tell is anything that it can be; each rule is a fourth
of one, and so is all that no rule grades. Then, from parts known whole down to parts of which nothing is
known, each state's best question is worked out from those of the states after it. With prices asking may
stop: what a part pays more than the cheapest that it could be is lost then, counted in minutes.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Mapping
from copy import copy
from functools import cached_property

import numpy as np
import numpy.typing as npt

from gradewright.core.decision import Axis
from gradewright.core.grading import Contradiction, Graded, Grader
from gradewright.core.observations import Attribute, Observed, Value

Policy = Callable[[Observed], Attribute | None]
Numbers = npt.NDArray[np.float64]
RULE = 0.25
UNGRADED = -1


class Worlds:
    """All parts of a rulebook; the last place along each attribute stands for "not known"."""

    def __init__(self, grader: Grader, each: float, pays: Mapping[str, float] | None = None) -> None:
        """`each`: the minutes that a question costs besides its test; `pays`: by grade what a part pays, in
        minutes of work. Among grades of which one has no price asking goes on.
        """
        self.pays = dict(pays or {})
        self.grader = grader
        self.axes = [axis for axis in grader.index.axes.values() if len(groups(grader, axis)) > 1]
        self.groups = [groups(grader, axis) for axis in self.axes]
        self.sizes = tuple(len(cells) for cells in self.groups)
        self.costs = [float(axis.attribute.minutes) + each for axis in self.axes]

    def priced(self, pays: Mapping[str, float]) -> Worlds:
        """The same parts, which are graded but once, at prices."""
        found = copy(self)
        found.pays = dict(pays)
        found.__dict__.pop("_stop", None)
        return found

    @property
    def states(self) -> int:
        """How many states of knowledge there are."""
        return int(np.prod([size + 1 for size in self.sizes], dtype=float))

    @cached_property
    def _graded(self) -> tuple[npt.NDArray[np.int64], Numbers]:
        """By part: the number of its grade (-1: none, -2: it cannot be); and how common it is."""
        grades = list(self.grader.rulebook.grades)
        first = np.full(self.sizes, -2)
        by_rule = np.full(self.sizes, -1)
        rules = {rule.id: number for number, rule in enumerate(self.grader.rulebook.rules)}
        for place in np.ndindex(self.sizes):
            outcome = self.grader.grade(self.observed(place))
            if not isinstance(outcome, Contradiction):
                first[place] = grades.index(outcome.grade) if isinstance(outcome, Graded) else UNGRADED
                by_rule[place] = rules[outcome.rule.id] if isinstance(outcome, Graded) else len(rules)
        ways = np.ones(self.sizes)
        for number, cells in enumerate(self.groups):
            shape = [1] * len(self.sizes)
            shape[number] = len(cells)
            ways = ways * np.array([len(same) for same in cells], float).reshape(shape)
        ways[first == -2] = 0
        mass = np.zeros(self.sizes)
        for rule in range(len(rules) + 1):
            mass += RULE * _share(ways * (by_rule == rule))
        for example in self.grader.rulebook.examples:
            if example.grade is not None:
                mass += _share(ways * self._like(example.part))
        return first, mass / mass.sum()

    def _like(self, part: Observed) -> Numbers:
        """One where a part can be the one of an example."""
        found = np.ones(self.sizes)
        for number, (axis, cells) in enumerate(zip(self.axes, self.groups, strict=True)):
            if axis.attribute.name in part:
                cell = axis.cell_of(part[axis.attribute.name])
                shape = [1] * len(self.sizes)
                shape[number] = len(cells)
                found = found * np.array([cell in same for same in cells], float).reshape(shape)
        return found

    @cached_property
    def _known(self) -> tuple[Numbers, npt.NDArray[np.bool_]]:
        """By state: how common it is, and whether all parts in it are of one grade."""
        grade, mass = self._graded
        low = np.where(grade == -2, 10**6, grade)
        high = grade
        for axis in range(len(self.sizes)):
            mass = np.concatenate([mass, mass.sum(axis=axis, keepdims=True)], axis=axis)
            low = np.concatenate([low, low.min(axis=axis, keepdims=True)], axis=axis)
            high = np.concatenate([high, high.max(axis=axis, keepdims=True)], axis=axis)
        return mass, low >= high

    @cached_property
    def _stop(self) -> Numbers:
        """By state: what is lost by stopping there; nothing where the grade is decided."""
        grade, mass = self._graded
        grades = [*self.grader.rulebook.grades, None]  # the last one is of those that no rule grades
        pays = np.array([self.pays.get(name, np.nan) if name else np.nan for name in grades])[grade]
        pays[grade == -2] = np.inf  # never the cheapest
        more, least = np.where(grade == -2, 0, pays) * mass, pays
        for axis in range(len(self.sizes)):
            more = np.concatenate([more, more.sum(axis=axis, keepdims=True)], axis=axis)
            least = np.concatenate([least, least.min(axis=axis, keepdims=True)], axis=axis)
        mass, decided = self._known
        with np.errstate(invalid="ignore", divide="ignore"):
            lost = np.where(mass > 0, more / mass - least, 0)
        return np.where(decided, 0, np.where(np.isnan(least), np.inf, np.maximum(lost, 0)))

    def least(self) -> float:
        """The least expected cost, from nothing known."""
        mass, _ = self._known
        cost = np.zeros(mass.shape)
        for unknown in range(1, len(self.sizes) + 1):
            for some in itertools.combinations(range(len(self.sizes)), unknown):
                here = tuple(n if a in some else slice(0, n) for a, n in enumerate(self.sizes))
                best = self._stop[here].copy()
                for asked in some:
                    after = tuple(
                        slice(0, n) if a == asked else h for a, (n, h) in _numbered(self.sizes, here)
                    )
                    place = sum(isinstance(h, slice) for h in here[:asked])
                    told = (mass[after] * cost[after]).sum(axis=place)
                    with np.errstate(invalid="ignore", divide="ignore"):
                        expected = self.costs[asked] + np.where(mass[here] > 0, told / mass[here], 0)
                    best = np.minimum(best, expected)
                cost[here] = best
        return float(cost[self.sizes])

    def expected(self, policy: Policy) -> float:
        """The expected cost of asking as a policy says, from nothing known until the grade is decided, or
        the policy stops.
        """
        mass, _ = self._known
        number_of = {axis.attribute.name: number for number, axis in enumerate(self.axes)}

        def cost(place: tuple[int, ...]) -> float:
            if self._stop[place] == 0:
                return 0.0
            asked = policy(self.observed(place))
            if asked is None:
                assert np.isfinite(self._stop[place]), f"nothing is asked of {self.observed(place)}"
                return float(self._stop[place])
            number = number_of[asked.name]
            assert place[number] == self.sizes[number], f"{asked.name} is asked again"
            total = self.costs[number]
            for value in range(self.sizes[number]):
                after = (*place[:number], value, *place[number + 1 :])
                if mass[after] > 0:
                    total += mass[after] / mass[place] * cost(after)
            return total

        return cost(self.sizes)

    def observed(self, place: tuple[int, ...]) -> dict[str, Value]:
        """The observations of a state: a value for each attribute that is known."""
        return {
            axis.attribute.name: axis.cells[cells[at][0]]
            for axis, cells, at in zip(self.axes, self.groups, place, strict=True)
            if at < len(cells)
        }


def groups(grader: Grader, axis: Axis) -> list[list[int]]:
    """The values of an attribute that can be, those together that no clause tells apart."""
    found: dict[int, list[int]] = {}
    for number, mask in enumerate(axis.masks):
        if grader.completions.can_be(mask, axis.bit):
            found.setdefault(mask, []).append(number)
    return list(found.values())


def _numbered(
    sizes: tuple[int, ...], here: tuple[int | slice, ...]
) -> Iterator[tuple[int, tuple[int, int | slice]]]:
    return enumerate(zip(sizes, here, strict=True))


def _share(ways: Numbers) -> Numbers:
    total = ways.sum()
    return ways / total if total else ways
