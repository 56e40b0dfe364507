"""Hauls: every plan of small ones tried, and the rules on the line."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from tests.core.haul.hauls import POUND, Tried, allowed, every, hauls, must_go, plans, steps, tried

from gradewright.core.haul import best as haul_best
from gradewright.core.haul.best import beaten, best
from gradewright.core.haul.found import CannotAllGo, NothingFound
from gradewright.core.haul.model import Model, Solved
from gradewright.core.haul.plan import (
    Buyer,
    Costs,
    Haul,
    Lot,
    NoSuchPlan,
    Place,
    Plan,
    can_go,
    reckon,
)
from gradewright.core.money import Rounding

SECONDS = 60.0


def one(grade: str, pounds: Fraction | int, bin_: int = 0, *lower: str) -> Lot:
    """A bin of so many pounds."""
    return Lot(bin_, pounds * POUND, (grade, *lower))


def allowed_plans(haul: Haul) -> Iterator[Tried]:
    """Every plan that takes what must go."""
    must = must_go(haul)
    return (each for each in every(haul) if allowed(haul, each.plan, must))


def asks(plan: Tried) -> tuple[int, int, int, int]:
    """What decides between plans that leave the same."""
    return plan.trips, plan.stops, plan.down, plan.piles


def reckoned(haul: Haul, plan: Plan) -> Tried:
    """A plan as it is tried here, which is as it is reckoned there."""
    found, here = reckon(haul, plan), tried(haul, plan)
    assert here is not None
    assert (found.worth, found.paid, found.cost) == (here.worth, here.paid, here.cost)
    assert (found.trips, found.stops, len(found.piles)) == (here.trips, here.stops, here.piles)
    assert (found.extra_piles, found.buyers) == (here.piles - here.stops, here.buyers)
    return here


def hold(haul: Haul) -> None:
    """What is found of a haul is held against every plan of it."""
    allowed_ones = list(allowed_plans(haul))
    if not allowed_ones:
        with pytest.raises(CannotAllGo):
            best(haul, SECONDS)
        return
    told = best(haul, SECONDS)
    found, most = reckoned(haul, told.best.plan), max(each.worth for each in allowed_ones)
    assert told.best.proved
    assert found.worth == told.best.worth == most
    assert asks(found) == min(asks(each) for each in allowed_ones if each.worth == most)
    others = [each.worth for each in allowed_ones if each.buyers != found.buyers]
    assert (told.second is not None) == bool(others)
    if told.second is not None:
        assert told.second.proved
        assert reckoned(haul, told.second.plan).worth == told.second.worth == max(others)
    for lot, goes in told.goes_from.items():
        ways = [each.grams for each in haul.lots][lot]
        if goes is None:
            tried = [int(ways) + 1, 2_000, 5_000, 20_000, 100_000]
            assert all(with_weight(haul, found, lot, grams) <= most for grams in tried if grams >= ways)
            continue
        assert goes.proved
        assert with_weight(haul, found, lot, goes.grams) > most
        if goes.grams - 1 >= ways:
            assert with_weight(haul, found, lot, goes.grams - 1) <= most


def with_weight(haul: Haul, found: Tried, lot: int, grams: int) -> int:
    """The most that a plan leaves in which a lot of this weight goes, and all of its grade that goes now."""
    lots = tuple(
        replace(each, grams=Fraction(grams)) if number == lot else each
        for number, each in enumerate(haul.lots)
    )
    must, heavier = must_go(haul), replace(haul, lots=lots)
    own = haul.lots[lot].grades[0]
    goes = {n for n, at in enumerate(found.plan) if at is not None and haul.lots[n].grades[0] == own} | {lot}
    can = (each for each in every(heavier) if allowed(haul, each.plan, must))
    return max((each.worth for each in can if all(each.plan[n] is not None for n in goes)), default=-(10**18))


@given(hauls(most=3))
@settings(max_examples=60, deadline=None)
def test_no_plan_is_better(haul: Haul) -> None:
    """Of all plans the one that is told leaves the most and asks for the least; the second choice of yards
    leaves the most of all others; and what stays goes from the told weight on, and not one gram before it.
    """
    hold(haul)


@pytest.mark.campaign
@given(hauls(most=4))
@settings(max_examples=4_000, deadline=None)
def test_no_plan_is_better_in_a_long_run(haul: Haul) -> None:
    """The same with one lot more, thousands of times."""
    hold(haul)


@given(hauls(most=3))
@settings(max_examples=100, deadline=None)
def test_every_plan_is_reckoned_as_it_is_defined(haul: Haul) -> None:
    """Any plan comes to what its lots, steps, rounding and costs come to one by one, or is refused."""
    for plan in plans(haul):
        if tried(haul, plan) is None:
            with pytest.raises(NoSuchPlan):
                reckon(haul, plan)
        else:
            reckoned(haul, plan)


def test_a_bin_goes_down_to_save_a_pile() -> None:
    """A bin joins a cheaper grade's pile where that loses less than another pile costs, and only there."""
    buyer = Buyer({"heavy": steps((0, 13)), "light": steps((0, 9))})
    lots = (one("light", 100), one("heavy", 20, 1, "light"))
    plan = best(Haul(lots, (buyer,), Costs(pile=81)), SECONDS).best.plan
    assert plan == (Place(0, 0, "light"), Place(0, 0, "light"))
    plan = best(Haul(lots, (buyer,), Costs(pile=79)), SECONDS).best.plan
    assert plan == (Place(0, 0, "light"), Place(0, 0, "heavy"))


def test_bins_reach_a_better_price_together() -> None:
    """A pile of exactly the from-weight has the better price, also where the weights are no round numbers."""
    third = Fraction(100, 3)
    buyer = Buyer({"copper": steps((0, 300), (100, 330))})
    haul = Haul(tuple(one("copper", third, bin_) for bin_ in range(3)), (buyer,))
    assert best(haul, SECONDS).best.worth == 3 * 11_000
    lots = (*haul.lots[:2], one("copper", third - Fraction(1, 10**9), 2))
    assert best(replace(haul, lots=lots), SECONDS).best.worth == 3 * 10_000


def test_a_price_that_needs_a_weight_is_none_below_it() -> None:
    """What is priced for larger piles only is not sold in smaller ones."""
    haul = Haul((one("copper", 99),), (Buyer({"copper": steps((100, 330))}),))
    assert not can_go(haul, 0)
    assert best(haul, SECONDS).best.plan == (None,)
    with pytest.raises(NoSuchPlan):
        reckon(haul, (Place(0, 0, "copper"),))


def test_a_price_that_falls_with_the_weight_is_not_passed_by() -> None:
    """A pile that reaches a from-weight is paid at that price, though it be the lower one."""
    haul = Haul((one("tin", 60), one("tin", 60, 1)), (Buyer({"tin": steps((0, 20), (100, 15))}),))
    assert best(haul, SECONDS).best.worth == 2 * 900
    two = replace(haul, trips=2)
    assert best(two, SECONDS).best.worth == 2 * 1200


def test_what_fits_into_no_trip_stays() -> None:
    """A bin heavier than a trip carries stays, and a full trip leaves what adds least."""
    buyer = Buyer({"copper": steps((0, 300)), "tin": steps((0, 10))})
    lots = (one("copper", 50), one("tin", 60, 1), one("tin", 101, 2))
    told = best(Haul(lots, (buyer,), load=100 * POUND, hold_back=True), SECONDS)
    assert told.best.plan == (Place(0, 0, "copper"), None, None)
    assert told.goes_from[1] is None
    with pytest.raises(CannotAllGo):
        best(Haul(lots, (buyer,), load=100 * POUND), SECONDS)
    assert best(Haul(lots, (buyer,), load=100 * POUND, trips=2), SECONDS).best.worth == 15_600


def test_what_is_kept_goes_with_others() -> None:
    """From which weight on a bin goes is asked of all plans: one that takes a second kept bin too counts."""
    buyer = Buyer({"copper": steps((0, 100))})
    haul = Haul((one("copper", 4), one("copper", 5, 1)), (buyer,), Costs(trip=1_000), hold_back=True)
    told = best(haul, SECONDS)
    assert told.best.plan == (None, None)
    goes = told.goes_from[0]
    assert goes is not None
    # 5 lb of the other are 5.00; 10.01 are needed, and 5.005 round to the even 5.00.
    assert Fraction(goes.grams) >= Fraction("5.005") * POUND > goes.grams - 1


@pytest.mark.parametrize("bins", [(0, 0, 0), (0, 1, 2)])
def test_what_is_kept_goes_beside_its_grade_and_not_instead_of_it(bins: tuple[int, ...]) -> None:
    """A full trip has no room for more of a grade at any weight: a heavier lot that goes there instead of
    an equal one, of its own bin or of another, is not called going.
    """
    lots = tuple(one("iron", 4, bin_) for bin_ in bins)
    haul = Haul(lots, (Buyer({"iron": steps((0, 100))}),), load=9 * POUND, hold_back=True)
    told = best(haul, SECONDS)
    assert told.best.worth == 800
    assert list(told.goes_from.values()) == [None]


def test_every_line_is_rounded_by_its_yard() -> None:
    """An amount is rounded once for each lot, by the rule of the yard."""
    lots = (one("tin", 1), one("tin", 1, 1))
    worth = {
        rule: best(Haul(lots, (Buyer({"tin": steps((0, Fraction(5, 2)))}, rule),)), SECONDS).best.worth
        for rule in Rounding
    }
    assert worth == {Rounding.HALF_EVEN: 4, Rounding.HALF_UP: 6, Rounding.DOWN: 4}


def test_a_plan_that_is_beaten() -> None:
    """What leaves more than a sum is found where there is such a plan, and none where there is not."""
    haul = Haul((one("tin", 10),), (Buyer({"tin": steps((0, 10))}), Buyer({"tin": steps((0, 12))})))
    better = beaten(haul, 100, SECONDS)
    assert better is not None
    assert better.worth == 120
    assert beaten(haul, 120, SECONDS) is None


def test_without_time_nothing_is_claimed() -> None:
    """Where the time was over at once, there is no plan, or one that is not called proved."""
    buyer = Buyer({"tin": steps((4, 10))})
    apart = Haul((one("tin", 3), one("tin", 3, 1)), (buyer,))
    with pytest.raises(NothingFound):
        best(apart, 0)
    told = best(replace(apart, hold_back=True), 0)
    assert told.best.plan == (None, None)
    assert not told.best.proved
    assert not told.looked
    assert told.goes_from == {}


def test_a_plan_to_begin_with_is_not_overrated() -> None:
    """That all may stay, with which the search begins here, is not taken for the best where one bin pays."""
    buyer = Buyer({"a": steps((0, 4)), "b": steps((0, 1))})
    lots = (one("b", 1, 0, "c"), one("c", 1, 1), one("a", 8, 2, "b", "c"))
    haul = Haul(lots, (buyer,), Costs(stop=30, pile=100), trips=2, hold_back=True)
    told = best(haul, SECONDS)
    assert told.best.worth == 2
    assert told.best.proved


def test_what_is_charged_for_lowers_no_bound() -> None:
    """What costs to be rid of may stay: without time to look, no plan is called the best because of it."""
    buyer = Buyer({"tin": steps((0, 10)), "waste": steps((0, -10))})
    haul = Haul((one("tin", 10), one("waste", 10, 1)), (buyer,), hold_back=True)
    told = best(haul, 0)
    assert not told.best.proved
    assert told.best.bound == 100
    assert best(haul, SECONDS).best.worth == 100


def test_another_choice_leaves_no_more_than_the_bound_of_all() -> None:
    """Where the search among other yards ends with a bound above that of all plans, that of all is told."""
    buyers = (Buyer({"tin": steps((0, 10))}), Buyer({"tin": steps((0, 12))}))
    haul = Haul((one("tin", 10),), buyers, Costs(trip=20))

    class Short(Model):
        def most(self, objective: Any, seconds: float, **more: Any) -> Solved:
            if more.get("rows"):
                return Model.most(self, objective, seconds, **more)._replace(bound=118.0, finished=False)
            return Solved((Place(0, 1, "tin"),), 105.0, 0.1, False)

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(haul_best, "Model", Short)
        patched.setattr(haul_best, "beginning", lambda *_: (None, 0.0))
        told = best(haul, SECONDS)
    assert (told.best.worth, told.best.bound) == (100, 105)
    assert told.second is not None
    assert (told.second.worth, told.second.bound) == (80, 105)


def test_a_second_choice_that_turns_out_better() -> None:
    """Where the time for the best was too short, and the second choice leaves more, that one is the best."""
    rich = Buyer({"tin": steps((0, 12))})
    haul = Haul((one("tin", 10),), (Buyer({"tin": steps((0, 10))}), rich))

    class Short(Model):
        def most(self, objective: Any, seconds: float, **more: Any) -> Solved:
            found = Model.most(self, objective, seconds, **more)
            return found if more.get("rows") else Solved((Place(0, 0, "tin"),), 130.0, 0.1, False)

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(haul_best, "Model", Short)
        patched.setattr(haul_best, "beginning", lambda *_: (None, 0.0))
        told = best(haul, SECONDS)
    assert (told.best.worth, told.best.bound) == (120, 120)
    assert told.second is not None
    assert (told.second.worth, told.second.proved) == (100, False)
