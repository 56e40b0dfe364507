"""Mixed-integer programmes, solved by HiGHS: one thread, one seed, so much work: the same is found again.

A search ends after so many steps of the solver, which are the same on every machine, and not at a time; a
clock ends it only where a machine is too slow, or has too much else to do, for so many steps in that time.
What comes back is in floating-point numbers. Whoever asks turns it into a choice and works that out exactly.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import highspy
import numpy as np

INFINITY = float("inf")
SEED = 20
TOLERANCE = 1e-6
WHOLE_GAP = 0.99
"""Of an objective in whole numbers nothing is better than what is less than one below the bound."""

A_ROUND, A_NODE = 2e-5, 1e-6
"""Seconds that a step takes for each row, at the root and among the nodes after it: so long that a processor
of 2020 or later needs less, measured over hauls of 40 bins."""
BUSY = 4
"""How many times slower than that a machine may be before the clock ends a search: it has others to serve."""

Row = tuple[float, Mapping[int, float], float]
"""The least, the factors by column, the most."""


Stopped = Callable[[], bool]


def never() -> bool:
    """Nobody stops it."""
    return False


@dataclass(slots=True)
class Guard:
    """What ends searches before their work is done: so many seconds of the clock for all of them together,
    and whoever stops them. `ended`: whether it has, so that asked again something else may be found.
    """

    seconds: float = INFINITY
    stopped: Stopped = never
    ended: bool = False

    def ends(self) -> bool:
        """Whether there is no going on."""
        if self.seconds <= 0 or self.stopped():
            self.ended = True
        return self.ended


class Found(NamedTuple):
    """The columns of the best that was found, None where nothing was; what no choice exceeds; the seconds
    that its work stands for; whether that is the last word.
    """

    columns: list[float] | None
    bound: float
    seconds: float
    finished: bool


@dataclass(slots=True)
class _Steps:
    """Counts the steps of a search, in seconds, and ends it after so many, or as the guard says."""

    most: float
    rows: int
    guard: Guard
    seconds: float

    def look_up(self, event: highspy.highs.HighsCallbackEvent) -> None:
        """Called by the solver, at the same steps of the same search on every machine."""
        self.seconds += BUSY * self.rows * (A_NODE if event.data_out.mip_node_count else A_ROUND)
        if self.seconds >= self.most or self.guard.ends():
            event.interrupt()


class _Silent(highspy.Highs):
    """A solver that prints nothing: HiGHS greets as it begins to call back, before it can be asked not to."""

    def enableCallbacks(self) -> None:  # noqa: N802 - the library's name
        self.silent()
        super().enableCallbacks()  # type: ignore[no-untyped-call]  # the library has no types there


@dataclass(slots=True)
class Programme:
    """Columns between 0 and 1, most of them yes or no, and rows that bound their sums."""

    guard: Guard = field(default_factory=Guard)
    rows: list[Row] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)

    def column(self, *, whole: bool = True) -> int:
        """A new column, yes or no where it is whole; its number."""
        self.whole.append(whole)
        return len(self.whole) - 1

    def row(self, least: float, factors: Mapping[int, float], most: float) -> None:
        """A new row."""
        self.rows.append((least, factors, most))

    def most(
        self,
        objective: Mapping[int, float],
        seconds: float,
        *,
        rows: Iterable[Row] = (),
        start: Collection[int] | None = None,
        gap: float = WHOLE_GAP,
    ) -> Found:
        """The columns with the most of an objective, under further rows; where the work of so many seconds is
        done, the best that was found. `start`: a choice to begin with, by the columns that are yes in it.

        HiGHS 1.16 can take a choice to begin with for more than it comes to, as its presolve changes what the
        choice means, and then ends too soon; its bound is still one. Then it begins again, with nothing.
        """
        rows = (*self.rows, *rows)
        found = self._solved(objective, seconds, rows, start, gap)
        if start is None or found.columns is None or not found.finished:
            return found
        came_to = sum(value * found.columns[column] for column, value in objective.items())
        if found.bound - came_to <= gap + TOLERANCE * abs(came_to):
            return found
        again = self._solved(objective, seconds - found.seconds, rows, None, gap)
        return again._replace(seconds=found.seconds + again.seconds)

    def _solved(
        self,
        objective: Mapping[int, float],
        seconds: float,
        rows: Sequence[Row],
        start: Collection[int] | None,
        gap: float,
    ) -> Found:
        if seconds <= 0 or self.guard.ends():
            return Found(None, INFINITY, 0.0, False)
        solver = _Silent()  # type: ignore[no-untyped-call]  # the library has no types there
        options: dict[str, bool | int | float | str] = {
            "threads": 1, "random_seed": SEED, "parallel": "off",
            "time_limit": self.guard.seconds, "mip_rel_gap": 0.0, "mip_abs_gap": gap,
        }  # fmt: skip
        for name, value in options.items():
            solver.setOptionValue(name, value)
        solver.passModel(self._model(objective, rows))
        if start is not None:
            begun = np.zeros(len(self.whole))
            begun[np.array(sorted(start), dtype=np.int32)] = 1.0
            solver.setSolution(len(begun), np.arange(len(begun), dtype=np.int32), begun)
        steps = _Steps(seconds, len(rows), self.guard, BUSY * len(rows) * A_ROUND)
        solver.cbMipInterrupt += steps.look_up
        solver.run()
        status, info = solver.getModelStatus(), solver.getInfo()
        self.guard.seconds -= solver.getRunTime()
        if status == highspy.HighsModelStatus.kTimeLimit:
            self.guard.ended = True
        if status == highspy.HighsModelStatus.kInfeasible:
            return Found(None, -INFINITY, steps.seconds, True)
        found = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
        columns = list(solver.getSolution().col_value) if found else None
        finished = status == highspy.HighsModelStatus.kOptimal
        return Found(columns, info.mip_dual_bound, steps.seconds, finished)

    def _model(self, objective: Mapping[int, float], rows: Sequence[Row]) -> highspy.HighsLp:
        model = highspy.HighsLp()
        size = len(self.whole)
        costs = np.zeros(size)
        for column, value in objective.items():
            costs[column] = value
        model.num_col_, model.num_row_ = size, len(rows)
        model.sense_ = highspy.ObjSense.kMaximize
        model.col_cost_, model.col_lower_, model.col_upper_ = costs, np.zeros(size), np.ones(size)
        kinds = highspy.HighsVarType
        model.integrality_ = [kinds.kInteger if whole else kinds.kContinuous for whole in self.whole]
        model.row_lower_ = np.array([least for least, _, _ in rows])
        model.row_upper_ = np.array([most for _, _, most in rows])
        matrix = model.a_matrix_
        matrix.format_ = highspy.MatrixFormat.kRowwise
        matrix.start_ = np.cumsum([0, *(len(factors) for _, factors, _ in rows)], dtype=np.int32)
        matrix.index_ = np.array([column for _, factors, _ in rows for column in factors], dtype=np.int32)
        matrix.value_ = np.array([value for _, factors, _ in rows for value in factors.values()])
        return model
