"""Plans held in whole numbers: proved at amounts of any size, whatever the solver says."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
import pytest
from highspy import HighsModelStatus
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from tests.core.haul.contrary import CONTRARY, bins, yard
from tests.core.haul.hauls import Tried, every, hauls
from tests.core.haul.large import ONE_BIN, by_one, large_hauls
from tests.core.haul.test_best import SECONDS, allowed_plans, hold

from gradewright.core.haul import exact
from gradewright.core.haul.best import beaten, best
from gradewright.core.haul.found import Best
from gradewright.core.haul.held import falls, held, large
from gradewright.core.haul.model import Model
from gradewright.core.haul.plan import Costs, Haul, Place
from gradewright.core.haul.solver import Guard


def test_one_bin_of_a_currency_of_small_units_is_proved() -> None:
    """No unit is left between the plan and its bound, of the best and of the second choice; method 4 left
    one, and proved nothing.
    """
    told = best(ONE_BIN, SECONDS)
    assert (told.best.worth, told.best.bound, told.best.proved) == (1_437_000_000, 1_437_000_000, True)
    assert told.second is not None
    assert (told.second.worth, told.second.bound, told.second.proved) == (1_401_000_000, 1_401_000_000, True)
    then = best(ONE_BIN, SECONDS, rough=True)
    assert (then.best.worth, then.best.bound, then.best.proved) == (1_437_000_000, 1_437_000_001, False)


@given(large_hauls())
@settings(max_examples=60, deadline=None)
def test_no_plan_is_better_at_large_amounts(haul: Haul) -> None:
    """Random small hauls at amounts up to millions of millions: what is told is held against every plan."""
    hold(haul)


@given(by_one())
@settings(max_examples=60, deadline=None)
def test_no_plan_is_better_by_one_unit(haul: Haul) -> None:
    """Plans that differ by a minor unit or two in ten thousand million, in stops, piles and amounts alike."""
    hold(haul)


@pytest.mark.campaign
@given(large_hauls(4))
@settings(max_examples=3_000, deadline=None)
def test_no_plan_is_better_at_large_amounts_in_a_long_run(haul: Haul) -> None:
    """The same with one lot more, thousands of times."""
    hold(haul)


@pytest.mark.campaign
@given(by_one())
@settings(max_examples=3_000, deadline=None)
def test_no_plan_is_better_by_one_unit_in_a_long_run(haul: Haul) -> None:
    """The same, thousands of times."""
    hold(haul)


@given(hauls(most=3))
@settings(max_examples=40, deadline=None)
def test_what_was_told_of_prices_that_rise_is_told_still(haul: Haul) -> None:
    """At ordinary amounts, where no yard pays less from a weight on, all is as by method 4."""
    assume(not falls(haul))
    if list(allowed_plans(haul)):
        assert best(haul, SECONDS) == best(haul, SECONDS, rough=True)


def most_of(plans: Iterable[Tried]) -> int:
    """What the best of them leaves."""
    return max(each.worth for each in plans)


@given(hauls(most=3), st.integers(0, 2**32 - 1))
@settings(max_examples=60, deadline=None)
def test_whatever_a_row_is_worth_a_bound_is_one(haul: Haul, seed: int) -> None:
    """The bound that follows from any worths of the rows at all, wrong as they may be, is below no plan."""
    plans = list(allowed_plans(haul))
    if plans:
        model = Model(haul)
        search = exact._Search(model.programme.asked(model.worth(), ()), Guard())
        size, chance = len(search.whole), np.random.default_rng(seed)
        for spread in (1e-3, 1.0, 1e3):
            rows = chance.normal(scale=spread, size=len(model.programme.rows))
            most, _ = search._most(rows, search._worth, np.zeros(size, int), np.ones(size, int))
            assert most >= most_of(plans) * exact.ONE * exact.FINE


class Lying(exact.Silent):
    """A solver whose every choice is drawn, and so is how far off what it says the rows are worth."""

    chance = np.random.default_rng(20)

    def getSolution(self) -> Any:  # noqa: N802 - the library's name
        """Something else."""
        told = super().getSolution()  # type: ignore[no-untyped-call]  # the library has no types there
        told.col_value = list(self.chance.integers(0, 2, len(told.col_value)).astype(float))
        told.row_dual = list(np.array(told.row_dual) * self.chance.normal(1, 0.1, len(told.row_dual)))
        return told


def test_a_solver_that_lies_proves_nothing_that_is_not_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever it points at is worked out, and none is passed by: the best plan is found and proved, from
    any on.
    """
    monkeypatch.setattr(exact, "Silent", Lying)
    buyers = (yard(a=((0, 10), (10, 13)), b=((0, 9),)), yard(5, a=((0, 11),)))
    haul = Haul(bins((6, "ab"), (4, "a"), (7, "b")), buyers, Costs(7, 3, 2), hold_back=True)
    for plan in (each for each in every(haul) if each.worth > 0):
        known = Best(plan.plan, plan.worth, 10**6)
        found, _ = held(haul, Model(haul, exact=True), known, SECONDS)
        assert (found.worth, found.proved) == (most_of(every(haul)), True)


@pytest.mark.parametrize("status", ["kInfeasible", "kUnknown"])
def test_a_solver_that_ends_otherwise_is_not_believed(status: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """That there is no choice counts where its ray proves it. This one does not: they are gone through."""
    monkeypatch.setattr(exact.Silent, "getModelStatus", lambda _: getattr(HighsModelStatus, status))
    monkeypatch.setattr(exact.Silent, "getDualRay", lambda self: (None, True, [1.0] * self.getNumRow()))
    known = Best((None,), 0, 10**10)
    found, _ = held(ONE_BIN, Model(ONE_BIN, exact=True), known, SECONDS)
    assert (found.worth, found.proved) == (1_437_000_000, True)


def test_without_work_nothing_is_held() -> None:
    """Then the plan stays what it was, with its bound."""
    known = Best((None,), 0, 10)
    assert held(ONE_BIN, Model(ONE_BIN, exact=True), known, 0.0)[0] == known
    assert held(ONE_BIN, Model(ONE_BIN, guard=Guard(0.0), exact=True), known, SECONDS)[0] == known


def test_a_large_plan_that_is_beaten() -> None:
    """By a single unit in thousands of millions, and not by none."""
    better = beaten(ONE_BIN, 1_436_999_999, SECONDS)
    assert better is not None
    assert better.plan == (Place(0, 1, "a"),)
    assert beaten(ONE_BIN, 1_437_000_000, SECONDS) is None


def test_what_is_large() -> None:
    """All bins as heavy as the heaviest, at the highest price, or a cost: from a hundred million units on."""
    assert large(ONE_BIN)
    assert not any(large(haul) for haul in CONTRARY.values())
