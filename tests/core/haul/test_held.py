"""Plans held in whole numbers: proved at amounts of any size, whatever the solver says."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from random import Random
from typing import Any

import numpy as np
import pytest
from highspy import HighsModelStatus
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from tests.core.haul.contrary import CONTRARY, bins, yard
from tests.core.haul.falling import falling
from tests.core.haul.hauls import Tried, every, hauls, steps
from tests.core.haul.large import ONE_BIN, by_one, large_hauls, times
from tests.core.haul.test_best import SECONDS, allowed_plans, hold, one
from tests.core.haul.test_solver_wrong import LIES, lying

from gradewright.core.haul import checked, exact, solver
from gradewright.core.haul.best import beaten, best
from gradewright.core.haul.found import Best, GoesFrom
from gradewright.core.haul.goes import goes
from gradewright.core.haul.held import held
from gradewright.core.haul.model import Model
from gradewright.core.haul.plan import Buyer, Costs, Haul, Lot, Place, Step, reckon
from gradewright.core.haul.solver import Asked, Found, Guard, Options
from gradewright.core.haul.ways import LARGE, falls, large
from gradewright.core.rates import Scale


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


@given(st.one_of(hauls(most=3), by_one(), large_hauls(), falling(), falling(times=10**8)))
@settings(max_examples=100, deadline=None)
def test_from_the_worst_plan_on_the_best_is_found_and_proved(haul: Haul) -> None:
    """By what is worked out in whole numbers alone, with no plan that the solver calls the best."""
    plans = list(allowed_plans(haul))
    if plans:
        worst = min(plans, key=lambda each: each.worth)
        known = Best(worst.plan, worst.worth, 10**18)
        found, _ = held(haul, Model(haul, exact=True), known, SECONDS)
        assert (found.worth, found.proved) == (most_of(plans), True)


def pays(*grams_and_price: tuple[int, int], load: int | None = None) -> Haul:
    """Bins of so many grams, for one yard that pays for a gram of each what it pays for no other."""
    prices = {f"g{n}": (Step(Fraction(0), Scale(*[p] * 3, 1)),) for n, (_, p) in enumerate(grams_and_price)}
    lots = tuple(Lot(n, Fraction(grams), (f"g{n}",)) for n, (grams, _) in enumerate(grams_and_price))
    return Haul(lots, (Buyer(prices),), load=None if load is None else Fraction(load), hold_back=True)


def test_what_fills_a_trip_best_is_found_from_nothing() -> None:
    """Where the relaxation ends far from any plan, what it has little of is not passed by: the heaviest."""
    haul, guard = pays((12, 9), (4, 9), (7, 9), (4, 8), load=13), Guard(SECONDS)
    found, _ = held(haul, Model(haul, guard=guard, exact=True), Best((None,) * 4, 0, 999), SECONDS)
    assert (found.worth, found.proved, found.plan[0]) == (108, True, Place(0, 0, "g0"))
    assert guard.seconds < SECONDS


def test_a_plan_that_leaves_one_unit_more_is_found() -> None:
    """Of one bin that is paid a single unit, beside all that stays."""
    haul = pays((1, 1), (1, -5))
    found, _ = held(haul, Model(haul, exact=True), Best((None, None), 0, 999), SECONDS)
    assert (found.worth, found.proved) == (1, True)


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


def content(monkeypatch: pytest.MonkeyPatch) -> None:
    """Has the solver call whatever it begins with the best, which nothing that is known contradicts."""

    def solve(asked: Asked, seconds: float, guard: Guard, further: Options) -> Found:
        found, begun = solver.solve(asked, seconds, guard, further), asked.begun()
        return found if begun is None else found._replace(columns=begun, bound=asked.comes_to(begun))

    monkeypatch.setattr(checked, "solve", solve)


def test_a_wrong_proof_is_found_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """At large amounts a better plan than the solver's is found and proved; at others it is believed."""
    content(monkeypatch)
    buyer = Buyer({"tin": steps((0, 305)), "zinc": steps((0, 300), (100, 330))})
    lots = (one("tin", 60, 0, "zinc"), one("tin", 60, 1, "zinc"))
    haul = Haul(lots, (buyer,), Costs(trip=100))
    assert best(haul, SECONDS).best.worth == 36_500
    told = best(times(haul, 10**7, Random(3)), SECONDS)
    assert told.best.worth > 39_499 * 10**7
    assert told.best.proved


def test_the_lightest_of_large_plans_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """One stop asks for less than two that leave as much, whatever the solver says of that."""
    content(monkeypatch)
    buyers = (Buyer({"tin": steps((0, 10))}), Buyer({"tin": steps((0, 10)), "zinc": steps((0, 20))}))
    haul = Haul((one("tin", 60), one("zinc", 60, 1)), buyers, Costs(trip=100))
    assert len(reckon(haul, best(haul, SECONDS).best.plan).buyers) == 2
    price = Scale(10**9, 10**9, 10**9, 1)
    same = {grade: (Step(Fraction(0), price),) for grade in ("tin", "zinc")}
    buyers = (Buyer({"tin": same["tin"]}), Buyer(same))
    told = best(replace(haul, buyers=buyers), SECONDS)
    assert told.best.plan == (Place(0, 1, "tin"), Place(0, 1, "zinc"))
    assert told.best.proved


def test_a_large_plan_is_beaten_whatever_the_solver_says(monkeypatch: pytest.MonkeyPatch) -> None:
    """By a single unit in thousands of millions, and not by none; and without work it is not."""
    lying(monkeypatch, LIES["there is none"], len(checked.WAYS))
    better = beaten(ONE_BIN, 1_436_999_999, SECONDS)
    assert better is not None
    assert better.plan == (Place(0, 1, "a"),)
    assert beaten(ONE_BIN, 1_437_000_000, SECONDS) is None
    assert beaten(ONE_BIN, 0, 0.0) is None


def test_from_which_weight_on_it_goes_is_told_whatever_the_solver_says(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """At large amounts: 84,745 grams are paid 9,999,910 rupiah, and it costs ten million to go."""
    lying(monkeypatch, LIES["there is none"], len(checked.WAYS))
    haul = replace(ONE_BIN, lots=bins((1, "a")), costs=Costs(10**9))
    assert goes(haul, (None,), 0, SECONDS, Guard())[0] == GoesFrom(84_746, True)


def test_without_work_nothing_is_held() -> None:
    """Then the plan stays what it was, with its bound."""
    known = Best((None,), 0, 10)
    assert held(ONE_BIN, Model(ONE_BIN, exact=True), known, 0.0)[0] == known
    assert held(ONE_BIN, Model(ONE_BIN, guard=Guard(0.0), exact=True), known, SECONDS)[0] == known


def test_what_is_large() -> None:
    """All bins as heavy as the heaviest, at the highest price, or a cost: from a hundred million units on."""
    assert large(ONE_BIN)
    assert not any(large(haul) for haul in CONTRARY.values())
    lots = (Lot(0, Fraction(1), ("a",)), Lot(1, Fraction(10), ("a",)))
    for likely, is_large in ((5 * 10**6, True), (-5 * 10**6, True), (5 * 10**6 - 1, False)):
        buyer = Buyer({"a": (Step(Fraction(0), Scale(0, likely, 0, 1)),)})
        assert large(Haul(lots, (buyer,))) == is_large
    buyer, half = Buyer({}), LARGE // 2
    assert all(large(Haul(lots, (buyer,), Costs(*each))) for each in ((half, 0), (0, half), (0, 0, half)))
    assert large(Haul(lots, (replace(buyer, stop=half),)))
    assert not large(Haul(lots, (buyer,), Costs(half - 1, half - 1, half - 1)))
