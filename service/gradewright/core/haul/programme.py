"""Mixed-integer programmes: columns that are yes or no, and rows that bound their sums.

What comes back is in floating-point numbers. Whoever asks turns it into a choice and works that out exactly.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace

from gradewright.core.haul.checked import TOLERANCE, checked
from gradewright.core.haul.exact import divisor
from gradewright.core.haul.solver import NEAR, Asked, Found, Guard, Number, Row, solve

WHOLE_GAP = 0.99
"""Of an objective in whole numbers nothing is better than what is less than one below the bound."""


@dataclass(slots=True)
class Programme:
    """Columns between 0 and 1, most of them yes or no, and rows that bound their sums."""

    guard: Guard = field(default_factory=Guard)
    large: bool = False
    """Whether the solver is given objectives in larger units, of which its floats tell a millionth."""
    rows: list[Row] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)

    def column(self, *, whole: bool = True) -> int:
        """A new column, yes or no where it is whole; its number."""
        self.whole.append(whole)
        return len(self.whole) - 1

    def row(self, least: float, factors: Mapping[int, float], most: float) -> None:
        """A new row."""
        self.rows.append((least, factors, most))

    def asked(
        self,
        objective: Mapping[int, Number],
        rows: Iterable[Row],
        start: Collection[int] | None = None,
        gap: float = WHOLE_GAP,
    ) -> Asked:
        """What is to be found, under further rows."""
        return Asked(tuple(self.whole), objective, (*self.rows, *rows), start, gap)

    def most(
        self,
        objective: Mapping[int, float],
        seconds: float,
        *,
        rows: Iterable[Row] = (),
        start: Collection[int] | None = None,
        gap: float = WHOLE_GAP,
        known: float | None = None,
    ) -> Found:
        """The columns with the most of an objective, under further rows; where the work of so many seconds is
        done, the best that was found. `start`: a choice to begin with, by the columns that are yes in it;
        `known`: what some choice comes to, whether or not it is one of these columns.
        """
        if self.large:
            return self._most_of_large(self.asked(objective, rows, start, gap), seconds, known)
        asked = self.asked(objective, rows, start, gap)
        if self.guard.unchecked:
            return _at_its_word(asked, seconds, self.guard)
        return checked(asked, seconds, self.guard, known)

    def _most_of_large(self, asked: Asked, seconds: float, known: float | None) -> Found:
        by = divisor(asked.objective.values())
        objective = {column: value / by for column, value in asked.objective.items()}
        smaller = replace(asked, objective=objective, gap=asked.gap / by)
        found = checked(smaller, seconds, self.guard, None if known is None else known / by)
        return found._replace(bound=(found.bound + NEAR) * by)


def _at_its_word(asked: Asked, seconds: float, guard: Guard) -> Found:
    """What the solver says, as it was taken by methods 1 to 3 of hauls.

    HiGHS 1.16 can take a choice to begin with for more than it comes to, as its presolve changes what the
    choice means, and then ends too soon; its bound is still one. Then it begins again, with nothing.
    """
    found = solve(asked, seconds, guard, {})
    if asked.start is None or found.columns is None or not found.finished:
        return found
    came_to = asked.comes_to(found.columns)
    if found.bound - came_to <= asked.gap + TOLERANCE * abs(came_to):
        return found
    from_nothing = Asked(asked.whole, asked.objective, asked.rows, None, asked.gap)
    again = solve(from_nothing, seconds - found.seconds, guard, {})
    return again._replace(seconds=found.seconds + again.seconds)
