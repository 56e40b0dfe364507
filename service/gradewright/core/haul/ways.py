"""The ways in which the lots of a haul can go: each at every price step of every pile that it may join."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from gradewright.core.haul.plan import Haul, Place, Step, heaviest
from gradewright.core.rates import Payer

LARGE = 10**8
"""From so many minor units on, for all lots, the solver is asked for plans alone: it may be off by
a millionth, and that is a hundred of them."""


class Way(NamedTuple):
    """A lot in a place, where the pile is at one step."""

    lot: int
    place: Place
    step: int


class Free(NamedTuple):
    """A lot that goes, at whatever weight between two, in grams."""

    lot: int
    least: Fraction
    most: Fraction


def worth_looking_at(haul: Haul, buyer: int, free: Free | None = None) -> dict[tuple[int, str, int], int]:
    """By lot, grade and step what a buyer pays, but for those ways that another is better than in any plan.

    What is paid for a free lot is that of its present weight.
    """
    steps = haul.buyers[buyer].steps
    pay = Payer(haul.buyers[buyer].rounding).amount
    most = heaviest(_at_most(haul, free))
    found: dict[tuple[int, str, int], int] = {}
    for lot, each in enumerate(haul.lots):
        is_free = free is not None and free.lot == lot
        if haul.load is not None and each.grams > haul.load and not is_free:
            continue
        ratio = each.grams.as_integer_ratio()
        paid = {
            (grade, number): pay(step.scale, ratio).likely
            for grade in each.grades
            for number, step in enumerate(steps.get(grade, ()))
            if step.from_grams <= most[grade]
        }
        found |= {
            (lot, *way): paid[way] for way in (paid if is_free else _not_worse(paid, steps, haul.costs.pile))
        }
    return found


def _at_most(haul: Haul, free: Free | None) -> Haul:
    """The haul with a free lot at its most."""
    if free is None:
        return haul
    lots = list(haul.lots)
    lots[free.lot] = replace(lots[free.lot], grams=free.most)
    return replace(haul, lots=tuple(lots))


def _not_worse(
    paid: Mapping[tuple[str, int], int], steps: Mapping[str, tuple[Step, ...]], pile: int
) -> list[tuple[str, int]]:
    """Without those for which another pile at the same stop pays more than it costs to make one: to leave
    a pile that needs no weight harms none, and neither does it to join one whose price only rises.
    """
    firm = {
        (grade, step)
        for grade, step in paid
        if not step and not steps[grade][0].from_grams and rises(steps[grade])
    }
    best = max((paid[way] for way in firm), default=None)
    return [way for way in paid if way not in firm or best is None or best - paid[way] <= pile]


def rises(steps: tuple[Step, ...]) -> bool:
    """Whether a heavier pile never takes a lower price."""
    likely = [Fraction(step.scale.likely, step.scale.under) for step in steps]
    return all(lower <= higher for lower, higher in pairwise(likely))


def pays_less(steps: tuple[Step, ...], step: int) -> int | None:
    """The first step after one that pays less than it; None where none does."""
    likely = [Fraction(each.scale.likely, each.scale.under) for each in steps]
    return next((later for later in range(step + 1, len(steps)) if likely[later] < likely[step]), None)


def large(haul: Haul) -> bool:
    """Whether the amounts of a haul are too large for what the solver takes for near."""
    each = [haul.costs.trip, haul.costs.pile, *(haul.stop(buyer) for buyer in range(len(haul.buyers)))]
    heaviest = max((lot.grams for lot in haul.lots), default=0).as_integer_ratio()
    for buyer in haul.buyers:
        pay = Payer(buyer.rounding).amount
        each += [abs(pay(step.scale, heaviest).likely) for steps in buyer.steps.values() for step in steps]
    return max(each) * len(haul.lots) >= LARGE


def falls(haul: Haul) -> bool:
    """Whether some price is lower from a weight on."""
    return not all(rises(steps) for buyer in haul.buyers for steps in buyer.steps.values())
