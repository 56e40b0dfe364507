"""HiGHS: one thread, one seed, so much work, so that the same is found again.

A search ends after so many steps of the solver, which are the same on every machine, and not at a time; a
clock ends it only where a machine is too slow, or has too much else to do, for so many steps in that time.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

import highspy
import numpy as np

INFINITY = float("inf")
SEED = 20
NEAR = 1e-5
"""How far off, of one, a choice may be that the solver calls one: ten times what it allows itself."""

A_ROUND, A_NODE = 2e-5, 1e-6
"""Seconds that a step takes for each row, at the root and among the nodes after it: so long that a processor
of 2020 or later needs less, measured over hauls of 40 bins."""
BUSY = 4
"""How many times slower than that a machine may be before the clock ends a search: it has others to serve."""

_STATUS = highspy.HighsModelStatus
EXPECTED = frozenset({_STATUS.kOptimal, _STATUS.kInterrupt, _STATUS.kTimeLimit})
"""How a search ends that is not without a choice. Anything else is a fault of the solver."""

Number = float | Fraction
Row = tuple[float, Mapping[int, float], float]
"""The least, the factors by column, the most."""
Options = Mapping[str, bool | int | float | str]
Stopped = Callable[[], bool]


def never() -> bool:
    """Nobody stops it."""
    return False


@dataclass(slots=True)
class Guard:
    """What ends searches before their work is done: so many seconds of the clock for all of them together,
    and whoever stops them. `ended`: whether it has, so that asked again something else may be found.
    `unchecked`: whether the solver is taken at its word, as it was by methods 1 to 3; `rough`: whether plans
    are not held in whole numbers, as they were not by methods up to 4.
    """

    seconds: float = INFINITY
    stopped: Stopped = never
    ended: bool = False
    unchecked: bool = False
    rough: bool = False

    def ends(self) -> bool:
        """Whether there is no going on."""
        if self.seconds <= 0 or self.stopped():
            self.ended = True
        return self.ended


@dataclass(frozen=True, slots=True)
class Asked:
    """What is to be found: columns between 0 and 1, yes or no where they are whole, with the most of an
    objective, under rows. `start`: a choice to begin with, by the columns that are yes in it; `gap`: how far
    below the bound is near enough.
    """

    whole: Sequence[bool]
    objective: Mapping[int, Number]
    rows: Sequence[Row]
    start: Collection[int] | None
    gap: float

    def comes_to(self, columns: Sequence[float]) -> float:
        """The objective of a choice."""
        return sum(float(value) * columns[column] for column, value in self.objective.items())

    def holds(self, columns: Sequence[float]) -> bool:
        """Whether a choice is one, as nearly as the solver reckons."""
        for whole, value in zip(self.whole, columns, strict=True):
            if not -NEAR <= value <= 1 + NEAR or (whole and abs(value - round(value)) > NEAR):
                return False
        for least, factors, most in self.rows:
            each = [factor * columns[column] for column, factor in factors.items()]
            off = NEAR * (1 + sum(map(abs, each)))
            if not least - off <= sum(each) <= most + off:
                return False
        return True

    def begun(self) -> list[float] | None:
        """The choice to begin with, where it is one."""
        if self.start is None:
            return None
        columns = [float(column in self.start) for column in range(len(self.whole))]
        return columns if self.holds(columns) else None


class Found(NamedTuple):
    """The columns of the best that was found, None where nothing was; what no choice exceeds; the seconds
    that its work stands for; whether that is the last word. `doubted`: the solver contradicted itself or what
    is known, and so its bound is none.
    """

    columns: list[float] | None
    bound: float
    seconds: float
    finished: bool
    doubted: bool = False


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


class Silent(highspy.Highs):
    """A solver that prints nothing: HiGHS greets as it begins to call back, before it can be asked not to."""

    def enableCallbacks(self) -> None:  # noqa: N802 - the library's name
        self.silent()
        super().enableCallbacks()  # type: ignore[no-untyped-call]  # the library has no types there


def solve(asked: Asked, seconds: float, guard: Guard, further: Options) -> Found:
    """What the solver says, in the work of so many seconds, with further options of its own."""
    if seconds <= 0 or guard.ends():
        return Found(None, INFINITY, 0.0, False)
    solver = Silent()  # type: ignore[no-untyped-call]  # the library has no types there
    options: dict[str, bool | int | float | str] = {
        "threads": 1, "random_seed": SEED, "parallel": "off",
        "time_limit": guard.seconds, "mip_rel_gap": 0.0, "mip_abs_gap": asked.gap, **further,
    }  # fmt: skip
    for name, value in options.items():
        solver.setOptionValue(name, value)
    solver.passModel(model_of(asked))
    if asked.start is not None:
        begun = np.zeros(len(asked.whole))
        begun[np.array(sorted(asked.start), dtype=np.int32)] = 1.0
        solver.setSolution(len(begun), np.arange(len(begun), dtype=np.int32), begun)
    steps = _Steps(seconds, len(asked.rows), guard, BUSY * len(asked.rows) * A_ROUND)
    solver.cbMipInterrupt += steps.look_up
    solver.run()
    status, info = solver.getModelStatus(), solver.getInfo()
    guard.seconds -= solver.getRunTime()
    if status == _STATUS.kTimeLimit:
        guard.ended = True
    if status == _STATUS.kInfeasible:
        return Found(None, -INFINITY, steps.seconds, True)
    found = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    columns = list(solver.getSolution().col_value) if found else None
    finished = status == _STATUS.kOptimal
    return Found(columns, info.mip_dual_bound, steps.seconds, finished, status not in EXPECTED)


def model_of(asked: Asked) -> highspy.HighsLp:
    """It in the solver's form."""
    model = highspy.HighsLp()
    size, rows = len(asked.whole), asked.rows
    costs = np.zeros(size)
    for column, value in asked.objective.items():
        costs[column] = float(value)
    model.num_col_, model.num_row_ = size, len(rows)
    model.sense_ = highspy.ObjSense.kMaximize
    model.col_cost_, model.col_lower_, model.col_upper_ = costs, np.zeros(size), np.ones(size)
    kinds = highspy.HighsVarType
    model.integrality_ = [kinds.kInteger if whole else kinds.kContinuous for whole in asked.whole]
    model.row_lower_ = np.array([least for least, _, _ in rows])
    model.row_upper_ = np.array([most for _, _, most in rows])
    matrix = model.a_matrix_
    matrix.format_ = highspy.MatrixFormat.kRowwise
    matrix.start_ = np.cumsum([0, *(len(factors) for _, factors, _ in rows)], dtype=np.int32)
    matrix.index_ = np.array([column for _, factors, _ in rows for column in factors], dtype=np.int32)
    matrix.value_ = np.array([value for _, factors, _ in rows for value in factors.values()])
    return model
