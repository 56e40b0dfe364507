"""The best haul: the plan that no other beats, the best of another choice of yards, what stays until when.

The solver proposes; every worth is reckoned exactly. As all worths are whole minor units, a plan that leaves
as much as the bound rounded down is one of the best. Of several such the lightest is told: the fewest trips,
then stops, then lots that go down in grade, then piles.
"""

from __future__ import annotations

from dataclasses import replace
from math import ceil, floor

from gradewright.core.haul import Buyer, Haul, Place, Plan, Reckoned, can_go, reckon, tidied
from gradewright.core.haul_found import Best, CannotAllGo, NothingFound, Told
from gradewright.core.haul_goes import goes
from gradewright.core.haul_model import Model, Solved
from gradewright.core.programme import Stopped, never
from gradewright.core.rates import Payer

BEGIN_SHARE, FIRST_SHARE, LIGHTEST_SHARE, SECOND_SHARE, EACH_SHARE = 0.3, 0.6, 0.4, 0.6, 0.5
"""Of the time that is left, for a plan to begin with, the plan itself, the lightest of several, the second
choice of yards, and each bin that stays."""
NEARLY = 1e-9


def best(haul: Haul, seconds: float, stopped: Stopped = never) -> Told:
    """What to do, found in so many seconds of the solver's time, or the best of that time with its bound.

    `stopped` ends the time. Raises `CannotAllGo` where not all lots fit that must go, and `NothingFound`
    where the time was too short.
    """
    begun, spent = _begun(haul, seconds * BEGIN_SHARE, stopped)
    model, left = Model(haul, stopped=stopped), seconds - spent
    found = model.most(model.worth(), left * FIRST_SHARE, start=begun)
    left -= found.seconds
    first = _better(haul, found, begun)
    if first is None and found.finished:
        raise CannotAllGo("Not everything that must go fits into the trips.")
    if first is None:
        raise NothingFound("No plan was found in the time that was given.")
    if first.proved:
        same, here = (model.leaves(first.worth),), reckon(haul, first.plan)
        found = model.most(model.lightness(), left * LIGHTEST_SHARE, rows=same, start=here)
        left -= found.seconds
        if found.plan is not None and reckon(haul, found.plan).worth == first.worth:
            first = replace(first, plan=tidied(haul, found.plan))
    others = model.another_choice(reckon(haul, first.plan).buyers)
    found = model.most(model.worth(), left * SECOND_SHARE, rows=(others,))
    left -= found.seconds
    second = _better(haul, found, None)
    if second is not None and second.worth > first.worth:  # the time for the first was too short
        first, second = replace(second, bound=first.bound), first
    goes_from = {}
    for bin_ in _kept(haul, first.plan) if first.proved else ():
        goes_from[bin_], spent = goes(haul, first.plan, bin_, left * EACH_SHARE, stopped)
        left -= spent
    return Told(first, second, second is not None or found.finished, goes_from)


def beaten(haul: Haul, worth: int, seconds: float, stopped: Stopped = never) -> Reckoned | None:
    """A plan that leaves more than so much; None where there is none, or none was found in the time."""
    model = Model(haul, stopped=stopped)
    found = model.most(model.worth(), seconds, rows=(model.leaves(worth + 1),))
    return reckon(haul, found.plan) if found.plan is not None else None


def _better(haul: Haul, found: Solved, begun: Reckoned | None) -> Best | None:
    """The better of the plan that was found and the one to begin with, and the bound, rounded down."""
    plans = [begun] if begun is not None else []
    if found.plan is not None:
        plans.append(reckon(haul, tidied(haul, found.plan)))
    if not plans:
        return None
    plan = max(plans, key=lambda reckoned: reckoned.worth)
    bound = floor(min(found.bound + NEARLY * abs(found.bound), _dearest(haul)))
    return Best(plan.plan, plan.worth, max(bound, plan.worth))


def _begun(haul: Haul, seconds: float, stopped: Stopped) -> tuple[Reckoned | None, float]:
    """A plan to begin with, None where none was found, and the seconds taken. What a trip carries is by far
    the hardest part: where that counts, it goes to those yards only that would be best without it, on as few
    trips as could do.
    """
    simple = _simple(haul)
    if haul.load is None:
        return simple, 0.0
    free = Model(replace(haul, load=None, trips=1), stopped=stopped)
    found = free.most(free.worth(), seconds / 2)
    if found.plan is None:
        return simple, found.seconds
    used = {place.buyer for place in found.plan if place is not None}
    buyers = tuple(each if number in used else Buyer({}) for number, each in enumerate(haul.buyers))
    whole = sum((lot.grams for lot in haul.lots), haul.load * 0)
    narrow = Model(
        replace(haul, buyers=buyers, trips=min(haul.trips, ceil(whole / haul.load) or 1)), stopped=stopped
    )
    packed = narrow.most(narrow.worth(), seconds - found.seconds, start=simple)
    plans = [] if packed.plan is None else [reckon(haul, tidied(haul, packed.plan))]
    plans += [] if simple is None else [simple]
    must = not haul.hold_back and {lot for lot in range(len(haul.lots)) if can_go(haul, lot)}
    plans = [each for each in plans if not must or all(each.plan[lot] is not None for lot in must)]
    return max(plans, key=lambda each: each.worth, default=None), found.seconds + packed.seconds


def _dearest(haul: Haul) -> int:
    """What the lots would be paid, each by itself at its best price: no plan leaves more."""
    return sum(
        max(
            (
                Payer(buyer.rounding).amount(step.scale, lot.grams.as_integer_ratio()).likely
                for buyer in haul.buyers
                for grade in lot.grades
                for step in buyer.steps.get(grade, ())
            ),
            default=0,
        )
        for lot in haul.lots
    )


def _simple(haul: Haul) -> Reckoned | None:
    """A plan to begin with: each lot goes where it is paid most for by itself, on the first trip with room;
    all stay where that leaves more. None where it cannot be made so.
    """
    room = [haul.load] * haul.trips
    plan: list[Place | None] = []
    for lot in haul.lots:
        ratio = lot.grams.as_integer_ratio()
        paid = {
            Place(trip, buyer, grade): Payer(each.rounding).amount(steps[0].scale, ratio).likely
            for trip, left in enumerate(room)
            if left is None or lot.grams <= left
            for buyer, each in enumerate(haul.buyers)
            for grade in lot.grades
            if (steps := each.steps.get(grade)) and steps[0].from_grams <= lot.grams
        }
        place = max(paid, key=lambda place: (paid[place], -place.trip), default=None)
        left = room[place.trip] if place is not None else None
        if place is not None and left is not None:
            room[place.trip] = left - lot.grams
        plan.append(place)
    home = reckon(haul, (None,) * len(haul.lots))
    if haul.hold_back:
        return max(home, reckon(haul, tuple(plan)), key=lambda reckoned: reckoned.worth)
    stuck = any(place is None and can_go(haul, lot) for lot, place in enumerate(plan))
    return None if stuck else reckon(haul, tuple(plan))


def _kept(haul: Haul, plan: Plan) -> list[int]:
    """The bins of which something stays that could be sold somewhere, in their order."""
    sold = {grade for buyer in haul.buyers for grade in buyer.steps}
    lots = zip(haul.lots, plan, strict=True)
    return list(dict.fromkeys(lot.bin for lot, at in lots if at is None and not sold.isdisjoint(lot.grades)))
