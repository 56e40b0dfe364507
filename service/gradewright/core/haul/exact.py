"""Whether any choice comes to so much, with a proof in whole numbers: nothing is believed of the solver.

Branch and bound over the relaxation, in which a column may be anything between no and yes. The solver only
proposes what each row is worth (its dual values). Whatever they are, a bound follows from them, and that is
worked out exactly here: so it holds for amounts of which a float of the solver's is off by minor units.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from math import ceil, frexp, isfinite
from typing import Any

import highspy
import numpy as np

from gradewright.core.haul.solver import BUSY, Asked, Guard, Row, Silent, model_of

WITHIN = 1e-6
"""How far from yes or no a column may be for its choice to be looked at."""
ONE, FINE = 1 << 200, 1 << 80
"""By so much every number of the programme, and the worth of a row, is multiplied: any float above 2 ** -147,
or 2 ** -27, is whole then."""
BITS = 17
"""The solver is given no numbers of more bits: what it takes for nothing is then little beside any."""
A_ROW, A_PART, A_PIVOT = 1e-5, 3e-6, 5e-8
"""Seconds, for each row, of taking it in, of a part of the search and of each step of the solver in that."""
AS_LONG_AGAIN = 2
"""How many times as long as the solver a part takes by the clock, with what is worked out here."""
_STATUS = highspy.HighsModelStatus
Numbers = np.ndarray[Any, Any]
Judged = tuple[int, Iterable[Row]] | None
"""What a choice has to come to from then on, and rows that shut out the one that was judged; None: enough."""


def searched(
    asked: Asked, least: int, seconds: float, guard: Guard, judged: Callable[[Sequence[float]], Judged]
) -> tuple[bool, float]:
    """Whether no choice that comes to `least` or more is left, and the seconds that it took to tell. Each
    that may come to that is `judged`, by its columns. What `asked` begins with, and its gap, say nothing.
    """
    search, size = _Search(asked, guard), len(asked.whole)
    parts = [(np.zeros(size, dtype=np.int8), np.ones(size, dtype=np.int8))]
    while parts:
        if search.seconds >= seconds or guard.ends():
            return False, search.seconds
        lower, upper = parts.pop()
        columns = search.looked_through(lower, upper, least)
        if columns is None:
            continue
        undecided = np.flatnonzero((lower != upper) & search.whole)
        off = np.abs(columns - np.round(columns))[undecided]
        if not len(undecided) or off.max() <= WITHIN:
            judgement = judged(list(columns))
            if judgement is None:
                return False, search.seconds
            least, rows = judgement
            search.add(rows)
            parts += [(lower, upper)] if len(undecided) else []
            continue
        column = undecided[off.argmax()]
        no, yes = (lower, upper.copy()), (lower.copy(), upper)
        no[1][column], yes[0][column] = 0, 1
        parts += [no, yes] if columns[column] > 1 / 2 else [yes, no]
    return True, search.seconds


class _Search:
    """The relaxation, in the solver and in whole numbers; the seconds that the work on it stands for."""

    def __init__(self, asked: Asked, guard: Guard) -> None:
        self.whole, self._guard = np.array(asked.whole), guard
        self.seconds = self._run_time = 0.0
        self._worth = np.array([_whole(asked.objective.get(n, 0)) for n in range(len(self.whole))], object)
        self._by = divisor(asked.objective.values())
        self._rows: list[tuple[Numbers, Numbers]] = []
        self._ends: list[tuple[int | None, int | None]] = []
        self._divisors: list[float] = []
        self._solver = Silent()  # type: ignore[no-untyped-call]  # the library has no types there
        self._solver.silent()
        for name, value in (("threads", 1), ("presolve", "off"), ("solver", "simplex")):
            self._solver.setOptionValue(name, value)
        objective = {column: value / self._by for column, value in asked.objective.items()}
        rows = [self._taken(row) for row in asked.rows]
        none_whole = (False,) * len(self.whole)
        self._solver.passModel(model_of(replace(asked, whole=none_whole, objective=objective, rows=rows)))
        self.seconds += BUSY * A_ROW * len(rows)

    def add(self, rows: Iterable[Row]) -> None:
        """Further rows."""
        for row in rows:
            least, factors, most = self._taken(row)
            columns, values = np.fromiter(factors, np.int32), np.fromiter(factors.values(), float)
            self._solver.addRow(least, most, len(columns), columns, values)

    def _taken(self, row: Row) -> Row:
        """A row, taken in in whole numbers, as the solver is given it."""
        least, factors, most = row
        by = divisor(factors.values())
        values = np.array([_whole(each) for each in factors.values()], object)
        self._rows.append((np.fromiter(factors, np.intp), values))
        self._ends.append((_end(least), _end(most)))
        self._divisors.append(by)
        return least / by, {column: value / by for column, value in factors.items()}, most / by

    def looked_through(self, lower: Numbers, upper: Numbers, least: int) -> Numbers | None:
        """The columns of the relaxation between these; None where no choice there comes to `least`. What none
        can have that does is taken out of `lower` and `upper`.
        """
        status = self._solve(lower, upper)
        if status == _STATUS.kInfeasible:
            _, known, ray = self._solver.getDualRay()  # type: ignore[attr-defined]  # no types there either
            for sign in (1, -1) if known else ():
                rows = sign * np.array(ray) / self._divisors
                nothing, _ = self._most(rows, self._worth * 0, lower, upper)
                if nothing < 0:
                    return None
        if status != _STATUS.kOptimal:
            return np.array((lower + upper) / 2)
        solution, limit = self._solver.getSolution(), least * ONE * FINE
        rows = np.array(solution.row_dual) * (self._by / np.array(self._divisors))
        most, each = self._most(rows, self._worth, lower, upper)
        if most < limit:
            return None
        decided = self.whole & (lower != upper) & (most - np.abs(each) < limit)
        upper[decided & (each < 0)], lower[decided & (each > 0)] = 0, 1
        return np.array(solution.col_value)

    def _solve(self, lower: Numbers, upper: Numbers) -> highspy.HighsModelStatus:
        size, solver = len(lower), self._solver
        solver.changeColsBounds(
            size, np.arange(size, dtype=np.int32), lower.astype(float), upper.astype(float)
        )
        solver.run()
        self._guard.seconds -= AS_LONG_AGAIN * (solver.getRunTime() - self._run_time)
        self._run_time = solver.getRunTime()
        pivots = solver.getInfo().simplex_iteration_count
        self.seconds += BUSY * len(self._rows) * (A_PART + A_PIVOT * pivots)
        return solver.getModelStatus()

    def _most(self, rows: Numbers, worth: Numbers, lower: Numbers, upper: Numbers) -> tuple[int, Numbers]:
        """What no choice exceeds if each row is worth so much, and what each column adds to it then."""
        most, each = 0, worth * FINE
        for row in np.flatnonzero(rows):
            value = int(rows[row] * FINE)
            end = self._ends[row][value > 0]
            if end is not None:
                columns, factors = self._rows[row]
                most, each[columns] = most + value * end, each[columns] - value * factors
        adds = each > 0
        return most + sum(each[adds & (upper > 0)]) + sum(each[~adds & (lower > 0)]), each


def _whole(number: float | Fraction) -> int:
    """A number in parts of one, rounded up where it is not exactly so many."""
    return ceil(Fraction(number) * ONE)


def divisor(numbers: Iterable[float | Fraction]) -> float:
    """The power of two by which numbers have to be divided for none to have more bits than they may."""
    return 2.0 ** max(0, *(frexp(number)[1] - BITS for number in numbers), 0)


def _end(number: float) -> int | None:
    """The same of an end of a row, None where it has none."""
    return _whole(number) if isfinite(number) else None
