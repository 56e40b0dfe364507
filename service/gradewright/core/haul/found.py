"""What is found of a haul, as values: nothing here needs the solver."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from gradewright.core.errors import Refused
from gradewright.core.haul.plan import Plan


class CannotAllGo(Refused):
    """Not everything that must go fits into the trips."""


class NothingFound(Refused):
    """The search was over before there was any plan."""


@dataclass(frozen=True, slots=True)
class Best:
    """A plan, what it leaves, and what no plan leaves more than, in minor units. `doubted`: the solver
    contradicts itself, so that none of its bounds counts.
    """

    plan: Plan
    worth: int
    bound: int
    doubted: bool = False

    @property
    def proved(self) -> bool:
        """Whether no plan leaves more."""
        return self.worth >= self.bound


@dataclass(frozen=True, slots=True)
class GoesFrom:
    """From how many whole grams on what is kept would go, None where none was found; `proved`: it goes at
    none less.
    """

    grams: int | None
    proved: bool


@dataclass(frozen=True, slots=True)
class Told:
    """All that was found. `second`: the best of another choice of yards; None where there is none, or, if not
    `looked`, where none was found. `goes_from`: by the number of each bin of which something stays that could
    be sold; None where no weight makes it go. Empty where the plan is not proved. `by_clock`: whether a clock
    ended the search, and not the work that it may take: then something else may be found another time.
    """

    best: Best
    second: Best | None
    looked: bool
    goes_from: Mapping[int, GoesFrom | None]
    by_clock: bool = True
