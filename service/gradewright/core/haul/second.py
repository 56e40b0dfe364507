"""The best of another choice of yards: looked for near the plan that is best, and only then everywhere.

What a trip carries is by far the hardest part, and the best plan has solved it: with each lot on its trip
there the rest is soon proved, and gives the search among all plans something to beat.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from gradewright.core.haul.begin import best_of
from gradewright.core.haul.model import Model, Solved
from gradewright.core.haul.plan import Haul, Place, Plan, Reckoned, reached, reckon
from gradewright.core.haul.solver import Guard
from gradewright.core.rates import Payer

NEAR_SHARE = 0.4
"""Of the work, for plans that leave each lot on its trip."""


def another(
    haul: Haul, model: Model, first: Plan, seconds: float, guard: Guard
) -> tuple[Solved, Reckoned | None]:
    """What the search for another choice of yards than the first plan's has found, in all the seconds of its
    work, and the plan that it began with, None where there was none.
    """
    buyers = reckon(haul, first).buyers
    on = tuple(None if at is None else at.trip for at in first)
    near = Model(haul, guard=guard, on=on, exact=model.exact)
    begun = best_of(haul, _rerouted(haul, near, first, buyers))
    found = near.most(near.worth(), seconds * NEAR_SHARE, rows=(near.another_choice(buyers),), start=begun)
    if found.plan is not None:
        begun = best_of(haul, [found.plan, *([] if begun is None else [begun.plan])])
    rows, known = (model.another_choice(buyers),), None if begun is None else begun.worth
    everywhere = model.most(model.worth(), seconds - found.seconds, rows=rows, start=begun, known=known)
    return everywhere._replace(seconds=found.seconds + everywhere.seconds), begun


def _rerouted(haul: Haul, model: Model, first: Plan, buyers: frozenset[int]) -> Iterator[Plan]:
    """The first plan without one of its yards, or with one lot at a yard more; nothing, where it goes
    anywhere.
    """
    places: dict[int, list[Place]] = {}
    for way in model.ways:
        places.setdefault(way.lot, []).append(way.place)
    for buyer in range(len(haul.buyers)):
        if buyer in buyers:
            yield _without(haul, first, buyer, places)
            continue
        there = {lot: [at for at in found if at.buyer == buyer] for lot, found in places.items()}
        moved = [_moved(haul, first, lot, found) for lot, found in there.items() if found]
        best = best_of(haul, moved)
        if best is not None:
            yield best.plan
    if buyers:
        yield (None,) * len(first)


def _without(haul: Haul, first: Plan, buyer: int, places: dict[int, list[Place]]) -> Plan:
    """The first plan, all that goes to a buyer going elsewhere on its trip, or staying."""
    plan: Plan = tuple(None if at is not None and at.buyer == buyer else at for at in first)
    for lot, at in enumerate(first):
        if at is not None and at.buyer == buyer:
            plan = _moved(haul, plan, lot, [to for to in places.get(lot, ()) if to.buyer != buyer])
    return plan


def _moved(haul: Haul, plan: Plan, lot: int, places: Sequence[Place]) -> Plan:
    """The plan with a lot at that of the places where most is paid for it, beside what lies there."""

    def paid(to: Place) -> int:
        buyer = haul.buyers[to.buyer]
        beside = (each.grams for each, at in zip(haul.lots, plan, strict=True) if at == to)
        step = reached(buyer.steps[to.grade], sum(beside, haul.lots[lot].grams))
        if step is None:
            return 0
        scale = buyer.steps[to.grade][step].scale
        return Payer(buyer.rounding).amount(scale, haul.lots[lot].grams.as_integer_ratio()).likely

    best = max(places, key=paid, default=None)
    return (*plan[:lot], best, *plan[lot + 1 :])
