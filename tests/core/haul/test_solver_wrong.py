"""Where the solver is wrong: it is held against what is known, and proves nothing that is not so."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import inf, nan
from typing import Any

import pytest
from hypothesis import given, settings
from tests.core.haul.contrary import CONTRARY, like_them
from tests.core.haul.hauls import POUND, steps
from tests.core.haul.test_best import SECONDS, hold, one

from gradewright.core.haul import best as haul_best
from gradewright.core.haul import checked, solver
from gradewright.core.haul.best import beaten, best
from gradewright.core.haul.found import CannotAllGo, GoesFrom
from gradewright.core.haul.goes import goes
from gradewright.core.haul.model import Model, Solved
from gradewright.core.haul.plan import Buyer, Costs, Haul, Place, Plan
from gradewright.core.haul.programme import Programme
from gradewright.core.haul.solver import Asked, Found, Guard

RICH, POOR = Buyer({"tin": steps((0, 305))}), Buyer({"tin": steps((0, 300), (100, 330))})
TWO = Haul((one("tin", 60), one("tin", 60, 1)), (RICH, POOR), Costs(trip=100))
"""By itself each bin is paid 183.00 at the first yard; together they are paid 396.00 at the other."""
BEGUN, MOST, PAID = 36_500, 39_500, 39_600
Lie = Callable[[Asked, Found], Found]
LIES: dict[str, Lie] = {
    "there is none": lambda _, found: Found(None, -inf, found.seconds, True),
    "it is no choice": lambda asked, found: found._replace(columns=[1.0] * len(asked.whole)),
    "it is between yes and no": lambda asked, found: found._replace(columns=[0.5] * len(asked.whole)),
    "the bound is no number": lambda _, found: found._replace(bound=nan),
    "the bound is too low": lambda _, found: found._replace(bound=-1e6),
    "it ended too soon": lambda _, found: found._replace(bound=found.bound + 1e6),
    "it failed": lambda _, found: found._replace(doubted=True),
}


def lying(monkeypatch: pytest.MonkeyPatch, lie: Lie, ways: int) -> None:
    """A solver that lies when it is asked in the first so many ways."""

    def solve(asked: Asked, seconds: float, guard: Guard, further: solver.Options) -> Found:
        found = solver.solve(asked, seconds, guard, further)
        return lie(asked, found) if checked.WAYS.index(further) < ways else found

    monkeypatch.setattr(checked, "solve", solve)


@pytest.mark.parametrize("haul", CONTRARY.values(), ids=CONTRARY)
def test_what_the_presolve_loses_is_found(haul: Haul) -> None:
    """Hauls of which the solver loses plans as it presolves them: each is held against every plan."""
    hold(haul)


@given(like_them())
@settings(max_examples=25, deadline=None)
def test_no_plan_of_others_like_them_is_better(haul: Haul) -> None:
    """Their like, with small amounts near nothing, prices that rise, trips and loads, held as well."""
    hold(haul)


@pytest.mark.campaign
@given(like_them())
@settings(max_examples=2_000, deadline=None)
def test_no_plan_of_others_like_them_is_better_in_a_long_run(haul: Haul) -> None:
    """The same, thousands of times."""
    hold(haul)


def test_earlier_methods_find_what_they_found() -> None:
    """Taken at its word, as it was by methods 1 to 3, the solver is wrong as it was."""
    told = best(CONTRARY["the first choice"], SECONDS, unchecked=True)
    assert told.second is not None
    assert (told.best.worth, told.best.bound, told.second.worth, told.second.bound) == (
        1232,
        1136,
        1136,
        1136,
    )
    with pytest.raises(ValueError, match="NaN"):
        best(CONTRARY["no choice at all"], SECONDS, unchecked=True)


@pytest.mark.parametrize("ways", [1, 2])
@pytest.mark.parametrize("lie", LIES.values(), ids=LIES)
def test_asked_another_way_it_is_right(lie: Lie, ways: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where one way to ask contradicts what is known, another is believed, and what it proves is proved."""
    lying(monkeypatch, lie, ways)
    told = best(TWO, SECONDS)
    assert (told.best.worth, told.best.proved, told.best.doubted) == (MOST, True, False)
    assert told.second is not None
    assert (told.second.worth, told.second.proved) == (BEGUN, True)


@pytest.mark.parametrize("lie", LIES.values(), ids=LIES)
def test_a_solver_that_is_always_wrong_proves_nothing(lie: Lie, monkeypatch: pytest.MonkeyPatch) -> None:
    """Then the best plan that is known is told, nothing is called proved, and the bound is what the bins are
    paid at their best prices.
    """
    lying(monkeypatch, lie, len(checked.WAYS))
    told = best(TWO, SECONDS)
    assert told.best.worth >= BEGUN
    assert (told.best.bound, told.best.proved, told.best.doubted) == (PAID, False, True)
    assert told.second is None or not told.second.proved
    assert told.goes_from == {}


def test_what_leaves_as_much_as_the_bins_are_paid_is_the_best_all_the_same(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Where no plan can leave more by the prices alone, that is a proof without any solver."""
    lying(monkeypatch, LIES["the bound is no number"], len(checked.WAYS))
    told = best(replace(TWO, costs=Costs()), SECONDS)
    assert (told.best.worth, told.best.proved, told.best.doubted) == (PAID, True, False)


def test_that_not_all_can_go_is_asked_twice(monkeypatch: pytest.MonkeyPatch) -> None:
    """A plan that is found the second time is one; only where there is none again is it said so."""
    apart = Haul((one("tin", 3), one("tin", 3, 1)), (Buyer({"tin": steps((4, 10))}),))
    lying(monkeypatch, LIES["there is none"], 1)
    assert best(apart, SECONDS).best.worth == 60
    lying(monkeypatch, LIES["there is none"], 2)
    with pytest.raises(CannotAllGo):
        best(apart, SECONDS)


def test_a_plan_that_only_one_way_finds_is_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where one way says that there is none, and another has one whose bound cannot be, it is told without a
    proof, and not that not all can go.
    """
    apart = Haul((one("tin", 3), one("tin", 3, 1)), (Buyer({"tin": steps((4, 10))}),), Costs(trip=1))

    lies = iter([LIES["there is none"], *[LIES["the bound is no number"]] * 99])

    def lie(asked: Asked, found: Found) -> Found:
        return next(lies)(asked, found)

    lying(monkeypatch, lie, len(checked.WAYS))
    told = best(apart, SECONDS)
    assert (told.best.worth, told.best.doubted) == (59, True)


def test_a_doubt_stays_where_no_work_is_left(monkeypatch: pytest.MonkeyPatch) -> None:
    """What contradicts itself with all the work that there was is doubted, with what it began with."""
    programme = Programme()
    column = programme.column()
    programme.row(0, {column: 1}, 1)
    lying(monkeypatch, lambda _, found: found._replace(bound=nan, seconds=9.0), 1)
    found = programme.most({column: 1.0}, 9.0, start=[column])
    assert found == Found([1.0], inf, 9.0, False, True)


def test_what_is_known_need_not_be_in_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    """A worth that some choice is known to have is held against what is found, though no column has it; so
    are those of the plans that both searches begin with.
    """
    programme = Programme()
    column = programme.column()
    programme.row(0, {column: 1}, 1)
    assert programme.most({column: 1.0}, 9.0, known=1.0).finished
    found = programme.most({column: 1.0}, 9.0, known=2.0)
    assert (found.columns, found.bound, found.finished, found.doubted) == ([1.0], inf, False, True)
    known, most = [], Model.most

    def watched(self: Model, objective: Any, seconds: float, **more: Any) -> Solved:
        if self.on is None and objective == self.worth():
            known.append(more["known"])
        return most(self, objective, seconds, **more)

    monkeypatch.setattr(Model, "most", watched)
    best(TWO, SECONDS)
    assert known == [BEGUN, BEGUN]


def test_one_that_is_beaten_is_beaten_by_more(monkeypatch: pytest.MonkeyPatch) -> None:
    """No plan beats a worth that only the solver says leaves more."""
    assert beaten(TWO, BEGUN, SECONDS) is not None
    monkeypatch.setattr(Model, "leaves", lambda *_: (-inf, {0: 1.0}, inf))
    assert beaten(TWO, MOST, SECONDS) is None


def told_of(*worths: int) -> Any:
    """What is told of yards that pay so much for a bin, where the solver first calls what it begins with the
    best, and the yards that each search for another choice finds are the next ones.
    """
    cents = [worth // 10 for worth in worths]
    haul = Haul((one("tin", 10),), tuple(Buyer({"tin": steps((0, each))}) for each in cents), Costs(trip=5))
    others = iter(range(1, len(worths)))

    class Wrong(Model):
        def most(self, objective: Any, seconds: float, *, start: Any = None, **more: Any) -> Solved:
            at: Plan = (Place(0, 0, "tin"),) if start is None else start.plan
            if more.get("rows") and objective == self.worth() and self.on is None:
                at = (Place(0, next(others, 0), "tin"),)
            if not at[0] or self.on is not None:
                return Solved(None, inf, 0.0, False)
            return Solved(at, worths[at[0].buyer] - 5.0, 0.1, True)

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(haul_best, "Model", Wrong)
        patched.setattr("gradewright.core.haul.second.Model", Wrong)
        patched.setattr("gradewright.core.haul.second._rerouted", lambda *_: iter(()))
        patched.setattr(haul_best, "beginning", lambda *_: (None, 0.0))
        return best(haul, SECONDS)


def test_a_proof_that_the_second_choice_refutes() -> None:
    """Where another choice of yards leaves more than was called a bound, the best is looked for again from
    there; and where that is refuted too, nothing is proved, of neither.
    """
    told = told_of(100, 120, 110)
    assert (told.best.worth, told.best.proved, told.second.worth) == (115, True, 105)
    told = told_of(100, 110, 120)
    assert (told.best.worth, told.best.bound, told.best.doubted) == (115, 120, True)
    assert (told.second.worth, told.second.bound, told.second.doubted) == (105, 120, True)


def test_a_weight_from_which_on_it_goes_is_not_proved_by_a_solver_that_is_wrong(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Where the solver says that no weight makes a bin go, and one is known, that one is told, not proved;
    where nothing is known and there was no work left to look, it is not said that there is none.
    """
    haul = Haul((one("tin", 4),), (Buyer({"tin": steps((0, 100))}),), Costs(trip=1_000), hold_back=True)
    (told,) = best(haul, SECONDS).goes_from.values()
    assert told is not None
    assert told.proved
    lying(monkeypatch, LIES["there is none"], len(checked.WAYS))
    assert goes(haul, (None,), 0, SECONDS, Guard())[0] == GoesFrom(told.grams, False)
    monkeypatch.undo()
    full = replace(haul, lots=(one("tin", 1),), load=9 * POUND)
    assert goes(full, (None,), 0, 0.0, Guard())[0] == GoesFrom(None, False)
    assert goes(full, (None,), 0, 0.0, Guard(unchecked=True))[0] is None
