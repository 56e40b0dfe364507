"""The best haul: the plan that no other beats, the best of another choice of yards, what stays until when.

The solver proposes; every worth is reckoned exactly. As all worths are whole minor units, a plan that leaves
as much as the bound rounded down is one of the best. Of several such the lightest is told: the fewest trips,
then stops, then lots that go down in grade, then piles.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from math import floor

from gradewright.core.haul.begin import beginning
from gradewright.core.haul.checked import below
from gradewright.core.haul.found import Best, CannotAllGo, NothingFound, Told
from gradewright.core.haul.goes import goes
from gradewright.core.haul.held import above, held, lightest_plan
from gradewright.core.haul.model import Model, Solved, exactly
from gradewright.core.haul.plan import Haul, Plan, Reckoned, reckon, tidied
from gradewright.core.haul.second import another
from gradewright.core.haul.solver import Guard, Row, Stopped, never
from gradewright.core.rates import Payer

BEGIN_SHARE, FIRST_SHARE, LIGHTEST_SHARE, SECOND_SHARE, EACH_SHARE = 0.3, 0.6, 0.4, 0.6, 0.5
"""Of the work that is left, for a plan to begin with, the plan itself, the lightest of several, the second
choice of yards, and each bin that stays."""
HELD_SHARE = 0.5
"""Of what is left after each of those, for holding it in whole numbers."""
NEARLY = 1e-9
TURNS = 2
"""How often the best plan is looked for, where another choice of yards leaves more than its bound."""


def best(
    haul: Haul, seconds: float, stopped: Stopped = never, *, unchecked: bool = False, rough: bool = False
) -> Told:
    """What to do, or the best found in as much work as so many seconds allow, with its bound.

    `stopped` ends it, and so does the clock where the work takes longer. Raises `CannotAllGo` where not all
    lots fit that must go, and `NothingFound` where that was too little. `unchecked`: as methods 1 to 3 did;
    `rough`: as method 4 did.
    """
    guard = Guard(seconds, stopped, unchecked=unchecked, rough=rough or unchecked)
    begun, spent = beginning(haul, seconds * BEGIN_SHARE, guard)
    left = seconds - spent
    for _ in range(TURNS):
        model = Model(haul, guard=guard, exact=exactly(haul, guard))
        first, second, looked, left = _both(haul, model, begun, left)
        if second is None or second.worth <= first.bound or unchecked:
            break
        begun = reckon(haul, second.plan)  # so what was called a bound of the first is none
    if second is not None and second.worth > first.bound and not unchecked:
        first, second = _unbounded(haul, first), _unbounded(haul, second)
    if second is not None and second.worth > first.worth:  # there was too little work for the first
        first, second = replace(second, bound=first.bound, doubted=first.doubted), first
    goes_from = {}
    for bin_ in _kept(haul, first.plan) if first.proved else ():
        goes_from[bin_], spent = goes(haul, first.plan, bin_, left * EACH_SHARE, guard)
        left -= spent
    return Told(first, second, looked, goes_from, guard.ended)


def _both(
    haul: Haul, model: Model, begun: Reckoned | None, left: float
) -> tuple[Best, Best | None, bool, float]:
    """The best plan and that of another choice of yards, whether that is the last word on whether there is
    one, and the seconds that are left.
    """
    known = None if begun is None else begun.worth
    found = model.most(model.worth(), left * FIRST_SHARE, start=begun, known=known)
    left -= found.seconds
    first = _better(haul, found, begun, model.guard)
    if first is None and found.finished:
        raise CannotAllGo("Not everything that must go fits into the trips.")
    if first is None:
        raise NothingFound("No plan was found in the time that was given.")
    first, spent = _held(haul, model, first, found.finished, left)
    left -= spent
    if first.proved:
        first, spent = _lightest(haul, model, first, left)
        left -= spent
    found, begun = another(haul, model, first.plan, left * SECOND_SHARE, model.guard)
    left -= found.seconds
    second = _better(haul, found, begun, model.guard)
    if second is not None:
        rows = (model.another_choice(reckon(haul, first.plan).buyers),)
        second, spent = _held(haul, model, second, found.finished, left, rows)
        left -= spent
        second = replace(second, bound=min(second.bound, first.bound))
    return first, second, second is not None or found.finished, left


def _held(
    haul: Haul, model: Model, best: Best, finished: bool, left: float, rows: Iterable[Row] = ()
) -> tuple[Best, float]:
    """The best, held in whole numbers where the solver's are too rough for the amounts, or where it has ended
    and its bound does not tell whether that is the best; and the seconds.
    """
    unclear = finished and not best.doubted and not best.proved
    if model.guard.rough or not (unclear or model.exact):
        return best, 0.0
    return held(haul, model, best, left * HELD_SHARE, rows)


def _lightest(haul: Haul, model: Model, first: Best, left: float) -> tuple[Best, float]:
    """The lightest of those that leave as much, and the seconds."""
    if model.exact:
        return lightest_plan(haul, model, first, left * LIGHTEST_SHARE)
    same, here = (model.leaves(first.worth),), reckon(haul, first.plan)
    found = model.most(model.lightness(), left * LIGHTEST_SHARE, rows=same, start=here)
    if found.plan is not None and reckon(haul, found.plan).worth == first.worth:
        first = replace(first, plan=tidied(haul, found.plan))
    return first, found.seconds


def beaten(
    haul: Haul,
    worth: int,
    seconds: float,
    stopped: Stopped = never,
    *,
    unchecked: bool = False,
    rough: bool = False,
) -> Reckoned | None:
    """A plan that leaves more than so much; None where there is none, or none was found in the work that so
    many seconds allow.
    """
    guard = Guard(seconds, stopped, unchecked=unchecked, rough=rough or unchecked)
    model = Model(haul, guard=guard, exact=exactly(haul, guard))
    if model.exact:
        return above(haul, model, worth, seconds)
    found = model.most(model.worth(), seconds, rows=(model.leaves(worth + 1),))
    better = reckon(haul, found.plan) if found.plan is not None else None
    return better if unchecked or better is None or better.worth > worth else None


def _better(haul: Haul, found: Solved, begun: Reckoned | None, guard: Guard) -> Best | None:
    """The better of the plan that was found and the one to begin with, and the bound, rounded down."""
    plans = [begun] if begun is not None else []
    if found.plan is not None:
        plans.append(reckon(haul, tidied(haul, found.plan)))
    if not plans:
        return None
    plan = max(plans, key=lambda reckoned: reckoned.worth)
    if not guard.unchecked and (found.doubted or below(found.bound, plan.worth)):
        return _unbounded(haul, Best(plan.plan, plan.worth, plan.worth))
    bound = floor(min(found.bound + NEARLY * abs(found.bound), _dearest(haul)))
    return Best(plan.plan, plan.worth, max(bound, plan.worth))


def _unbounded(haul: Haul, best: Best) -> Best:
    """A plan of which the solver proves nothing, with the bound that there is without it."""
    bound = max(_dearest(haul), best.worth)
    return replace(best, bound=bound, doubted=best.worth < bound)


def _dearest(haul: Haul) -> int:
    """What the lots would be paid, each at its best price, or nothing for it: no plan leaves more."""
    at_most = 0
    for lot in haul.lots:
        ratio = lot.grams.as_integer_ratio()
        paid = [
            Payer(buyer.rounding).amount(step.scale, ratio).likely
            for buyer in haul.buyers
            for grade in lot.grades
            for step in buyer.steps.get(grade, ())
        ]
        at_most += max((0, *paid))
    return at_most


def _kept(haul: Haul, plan: Plan) -> list[int]:
    """The bins of which something stays that could be sold somewhere, in their order."""
    sold = {grade for buyer in haul.buyers for grade in buyer.steps}
    lots = zip(haul.lots, plan, strict=True)
    return list(dict.fromkeys(lot.bin for lot, at in lots if at is None and not sold.isdisjoint(lot.grades)))
