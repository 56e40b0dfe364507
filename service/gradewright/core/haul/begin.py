"""Plans to begin with, where a haul is large: good ones soon, so that the solver has something to beat.

What a trip carries is by far the hardest part. Where that counts, the best plan without it is packed into
trips, and the solver looks first at its yards alone, on as few trips as could do.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from math import ceil

from gradewright.core.haul.model import Model, exactly
from gradewright.core.haul.plan import Buyer, Haul, NoSuchPlan, Place, Plan, Reckoned, can_go, reckon, tidied
from gradewright.core.haul.solver import Guard
from gradewright.core.rates import Payer


def beginning(haul: Haul, seconds: float, guard: Guard) -> tuple[Reckoned | None, float]:
    """A plan to begin with, None where none was found, and the seconds that this takes."""
    simple = _best_of(haul, [_simple(haul)])
    if haul.load is None:
        return simple, 0.0
    exact = exactly(haul, guard)
    free = Model(replace(haul, load=None, trips=1), guard=guard, exact=exact)
    found = free.most(free.worth(), seconds / 2)
    if found.plan is None:
        return simple, found.seconds
    begun = _best_of(haul, [_simple(haul), _packed(haul, found.plan)])
    used = {place.buyer for place in found.plan if place is not None}
    buyers = tuple(each if number in used else Buyer({}) for number, each in enumerate(haul.buyers))
    whole = sum((lot.grams for lot in haul.lots), Fraction(0))
    few = min(haul.trips, ceil(whole / haul.load) or 1)
    narrow = Model(replace(haul, buyers=buyers, trips=few), guard=guard, exact=exact)
    packed = narrow.most(narrow.worth(), seconds - found.seconds, start=begun)
    plans = [begun.plan if begun is not None else None, packed.plan]
    return _best_of(haul, plans), found.seconds + packed.seconds


def _best_of(haul: Haul, plans: Sequence[Plan | None]) -> Reckoned | None:
    """The best of them, or that all stays, if it may; tidied."""
    home: Plan = (None,) * len(haul.lots)
    return best_of(haul, [tidied(haul, plan) for plan in (*plans, home) if plan is not None])


def best_of(haul: Haul, plans: Iterable[Plan]) -> Reckoned | None:
    """The one that leaves most, of those that can be made and take what must go; None where none does."""
    must = [] if haul.hold_back else [lot for lot in range(len(haul.lots)) if can_go(haul, lot)]
    found = []
    for plan in plans:
        if any(plan[lot] is None for lot in must):
            continue
        try:
            found.append(reckon(haul, plan))
        except NoSuchPlan:
            continue
    return max(found, key=lambda reckoned: reckoned.worth, default=None)


def _simple(haul: Haul) -> Plan:
    """Each lot goes where it is paid most for by itself, on the first trip with room."""

    def best(lot: int, trip: int) -> Place | None:
        each = haul.lots[lot]
        paid = {
            Place(trip, number, grade): Payer(buyer.rounding).amount(
                steps[0].scale, each.grams.as_integer_ratio()
            )
            for number, buyer in enumerate(haul.buyers)
            for grade in each.grades
            if (steps := buyer.steps.get(grade)) and steps[0].from_grams <= each.grams
        }
        return max(paid, key=lambda place: paid[place].likely, default=None)

    return _filled(haul, range(len(haul.lots)), best)


def _packed(haul: Haul, plan: Plan) -> Plan:
    """The plan on as many trips as its load asks for: the heaviest yard first, and there the heavy lots."""
    weight: dict[int, Fraction] = {}
    for lot, place in zip(haul.lots, plan, strict=True):
        if place is not None:
            weight[place.buyer] = weight.get(place.buyer, Fraction(0)) + lot.grams

    def heaviest_first(lot: int) -> tuple[Fraction, int, Fraction]:
        place = plan[lot]
        return (
            (-weight[place.buyer], place.buyer, -haul.lots[lot].grams)
            if place
            else (Fraction(0), 0, Fraction(0))
        )

    def there(lot: int, trip: int) -> Place | None:
        place = plan[lot]
        return None if place is None else place._replace(trip=trip)

    return _filled(haul, sorted(range(len(haul.lots)), key=heaviest_first), there)


def _filled(haul: Haul, order: Sequence[int], where: Callable[[int, int], Place | None]) -> Plan:
    """Each lot on the first trip with room for it."""
    room = [haul.load] * haul.trips
    plan: list[Place | None] = [None] * len(haul.lots)
    for lot in order:
        grams = haul.lots[lot].grams
        for trip, left in enumerate(room):
            if left is None or grams <= left:
                plan[lot] = where(lot, trip)
                if left is not None and plan[lot] is not None:
                    room[trip] = left - grams
                break
    return tuple(plan)
