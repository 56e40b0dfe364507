"""From which weight on what a haul keeps would go, all else being planned anew.

A lot goes where a plan with it leaves more than the best one without, and does not go instead of more of its
own grade: what of that goes now goes there too. The solver finds the plan in which the least weight of the
lot does that; the weight itself is then worked out exactly, in whole grams.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from fractions import Fraction
from math import ceil, floor, inf
from typing import cast

from gradewright.core.haul.exact import Judged
from gradewright.core.haul.found import GoesFrom
from gradewright.core.haul.model import Model, exactly
from gradewright.core.haul.plan import Haul, NoSuchPlan, Place, Plan, reckon
from gradewright.core.haul.solver import Guard
from gradewright.core.haul.ways import Free, falls
from gradewright.core.money import Rounding
from gradewright.core.rates import Payer

HALF = Fraction(1, 2)


def goes(haul: Haul, plan: Plan, bin_: int, seconds: float, guard: Guard) -> tuple[GoesFrom | None, float]:
    """From which weight on what is kept of a bin would go beside what goes of its grade already, all else
    planned anew, and the seconds that this takes.

    None where no weight makes it go. Not `proved` where the time was too short: then it is the least weight
    at which it goes while the rest stays as it is in the plan, or less, and none where that is none.
    """
    asked, lot, rest = _as_one(haul, plan, bin_)
    need = reckon(haul, plan).worth + 1
    at_rest = lightest(asked, lot, rest, need)
    most = Fraction(at_rest) if at_rest is not None else _most(asked, lot)
    least = asked.lots[lot].grams
    if most < least or not most:
        return None, 0.0
    own = asked.lots[lot].grades[0]
    gone = (
        number
        for number, place in enumerate(rest)
        if place is not None and (not haul.hold_back or asked.lots[number].grades[0] == own)
    )
    exact = exactly(haul, guard) or (not guard.rough and falls(haul))
    if exact and haul.load is None:
        most = Fraction(ceil(most))  # so that whole grams reach the last from-weight
    model = Model(asked, Free(lot, least, most), frozenset((lot, *gone)), guard, exact=exact)
    if exact:
        grams, finished, spent = _sooner(asked, model, at_rest, need, seconds)
        return None if grams is None and finished else GoesFrom(grams, finished), spent
    spent = 0.0
    while True:
        found = model.least_share(need, seconds - spent, None if at_rest is None else 1.0)
        spent += found.seconds
        if found.plan is None:
            anew = None
            break
        anew = lightest(asked, lot, found.plan, need, here=True)
        if anew is not None:
            break
        model.shut_out(found.plan)  # half a minor unit of it is rounded down, and there is no room for more
    known = [grams for grams in (at_rest, anew) if grams is not None]
    if not known and (found.finished or guard.unchecked):
        return None, spent
    return GoesFrom(min(known, default=None), found.finished), spent


def _sooner(
    haul: Haul, model: Model, known: int | None, need: int, seconds: float
) -> tuple[int | None, bool, float]:
    """The least whole grams at which any plan leaves `need`, from those on at which one does, None for none;
    whether that is proved, whatever the solver says; and the seconds.
    """
    lot, least, most = cast("Free", model.free)
    found = [] if known is None else [known]

    def lighter() -> int:
        return min(found) - 1 if found else floor(most)

    def judged(plan: Plan) -> Judged:
        here = lightest(haul, lot, plan, need, here=True)
        found.extend([] if here is None else [here])
        return None if lighter() < least else (need, (model.but_for(plan), model.no_heavier(lighter())))

    finished, spent = lighter() < least, 0.0
    if not finished:
        aim, rows = model.worth_with_free(), (model.no_heavier(lighter()),)
        finished, spent = model.searched(aim, need, seconds, judged, rows)
    return min(found, default=None), finished or lighter() < least, spent


def lightest(haul: Haul, lot: int, plan: Plan, need: int, *, here: bool = False) -> int | None:
    """The least whole grams, from its own weight on, at which a plan leaves `need` if a lot goes too:
    anywhere, or `here`, where it is in the plan. None where no weight is enough.
    """
    places = [plan[lot]] if here else _places(haul, lot, plan)
    found = (_at_place(haul, lot, plan, place, need) for place in places if place is not None)
    return min((grams for grams in found if grams is not None), default=None)


def _at_place(haul: Haul, lot: int, plan: Plan, place: Place, need: int) -> int | None:
    """The same in one place: at each price step of the pile the amount rises with the weight, or never."""
    rest = (*plan[:lot], None, *plan[lot + 1 :])
    beside = _grams(haul, rest, lambda at: at == place)
    room = (
        inf if haul.load is None else floor(haul.load - _grams(haul, rest, lambda at: at.trip == place.trip))
    )
    buyer = haul.buyers[place.buyer]
    steps = buyer.steps.get(place.grade, ())
    pay = Payer(buyer.rounding).amount
    for number, step in enumerate(steps):
        least = max(ceil(haul.lots[lot].grams), ceil(step.from_grams - beside))
        ends = ceil(steps[number + 1].from_grams - beside) - 1 if number + 1 < len(steps) else inf
        if least > min(room, ends):
            continue
        try:
            there = reckon(_weighing(haul, lot, least), (*plan[:lot], place, *plan[lot + 1 :]))
        except NoSuchPlan:
            continue
        missing = need - (there.worth - pay(step.scale, (least, 1)).likely)
        grams, rate = least, Fraction(step.scale.likely, step.scale.under)
        if rate > 0:
            half = Fraction(0) if buyer.rounding is Rounding.DOWN else HALF
            grams = max(least, ceil((missing - half) / rate))
            grams += pay(step.scale, (grams, 1)).likely < missing  # from the middle it may go down
        if pay(step.scale, (grams, 1)).likely >= missing and grams <= min(room, ends):
            return grams
    return None


def _as_one(haul: Haul, plan: Plan, bin_: int) -> tuple[Haul, int, Plan]:
    """The haul and the plan with what is kept of a bin as one lot, the last."""
    kept = [n for n, lot in enumerate(haul.lots) if lot.bin == bin_ and plan[n] is None]
    others = [n for n in range(len(haul.lots)) if n not in kept]
    grams = sum((haul.lots[n].grams for n in kept), Fraction(0))
    lots = (*(haul.lots[n] for n in others), replace(haul.lots[kept[0]], grams=grams))
    return replace(haul, lots=lots), len(others), (*(plan[n] for n in others), None)


def _most(haul: Haul, lot: int) -> Fraction:
    """The weight beyond which more of a lot changes nothing, where its own amounts do not make it go."""
    if haul.load is not None:
        return haul.load
    grades = haul.lots[lot].grades
    return max(
        (step.from_grams for buyer in haul.buyers for grade in grades for step in buyer.steps.get(grade, ())),
        default=Fraction(0),
    )


def _places(haul: Haul, lot: int, plan: Plan) -> Iterable[Place]:
    """Where a lot could go beside a plan: on each of its trips, or on one more."""
    trips = {place.trip for place in plan if place is not None}
    for trip in range(min(len(trips) + 1, haul.trips)):
        for buyer, each in enumerate(haul.buyers):
            for grade in haul.lots[lot].grades:
                if grade in each.steps:
                    yield Place(trip, buyer, grade)


def _weighing(haul: Haul, lot: int, grams: int) -> Haul:
    lots = haul.lots
    return replace(haul, lots=(*lots[:lot], replace(lots[lot], grams=Fraction(grams)), *lots[lot + 1 :]))


def _grams(haul: Haul, plan: Plan, among: Callable[[Place], bool]) -> Fraction:
    """What of a plan is in certain places, together."""
    there = (lot.grams for lot, at in zip(haul.lots, plan, strict=True) if at is not None and among(at))
    return sum(there, Fraction(0))
