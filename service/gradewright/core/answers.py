"""What the answers to one test would leave unknown.

Most patterns (`core.belief`) tell nothing of most attributes: they go with every value alike. Their part in
every answer is the same, and is worked out once, so that a test among a hundred grades is rated quickly.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from gradewright.core.uncertainty import folded, log2

if TYPE_CHECKING:
    from gradewright.core.decision import Axis


class State(NamedTuple):
    """What is known of a part: the clauses still possible, the attributes known, the patterns that fit."""

    possible: int
    known: int
    fitting: int


class Weighed(NamedTuple):
    """How common each pattern that fits is, each outcome, and the sum of the outcomes' `folded`."""

    state: State
    weights: dict[int, int]
    by_outcome: dict[str | None, int]
    fold: int


class Branch(NamedTuple):
    """One answer: what is known then, of how many values it is, and the mass of what tells of the test."""

    state: State
    values: int
    own: dict[str | None, int]


class Answers(NamedTuple):
    """All answers to one test of `values` values; `told`: the mass of the patterns that tell of it."""

    axis: Axis
    before: Weighed
    values: int
    told: dict[str | None, int]
    branches: list[Branch]

    def masses(self, branch: Branch) -> dict[str | None, int]:
        """How common each outcome is among the parts that give an answer."""
        ways, values, own, told = branch.values, self.values, branch.own, self.told
        return {
            outcome: (mass - told.get(outcome, 0)) // values * ways + own.get(outcome, 0)
            for outcome, mass in self.before.by_outcome.items()
        }

    def sizes(self) -> list[int]:
        """How common each answer is, on the scale of the masses."""
        silent = sum(self.before.by_outcome.values()) - sum(self.told.values())
        return [silent * b.values // self.values + sum(b.own.values()) for b in self.branches]

    def grade_left(self) -> tuple[int, int]:
        """How hard the grade is to guess (entropy times mass): before, over these answers; and after them."""
        by_outcome, told, values = self.before.by_outcome, self.told, self.values
        silent = {outcome: (by_outcome[outcome] - mass) // values for outcome, mass in told.items()}
        others = sum(by_outcome.values()) - sum(by_outcome[outcome] for outcome in told)
        # Of one value, without what patterns tell: the mass, and the sum over outcomes of mass * log(mass).
        # That of the others is worked out from their whole: mass/values * (log(mass) - log(values)).
        fold = (self.before.fold - sum(folded(by_outcome[outcome]) for outcome in told)) // values
        fold -= others * log2(values) // values
        folds = {outcome: folded(mass) for outcome, mass in silent.items()}
        mass, fold = others // values + sum(silent.values()), fold + sum(folds.values())
        left, all_values, all_own = 0, 0, dict.fromkeys(told, 0)
        for _, n, own in self.branches:
            size, spread, log = mass * n, (fold + mass * log2(n)) * n, log2(n)
            for outcome, more in own.items():
                before = silent[outcome] * n
                size += more
                spread += folded(before + more) - folds[outcome] * n - before * log
                all_own[outcome] += more
            left += folded(size) - spread
            all_values += n
        size, spread = mass * all_values, (fold + mass * log2(all_values)) * all_values
        for outcome, more in all_own.items():
            before = silent[outcome] * all_values
            size += more
            spread += folded(before + more) - folds[outcome] * all_values - before * log2(all_values)
        return folded(size) - spread, left
