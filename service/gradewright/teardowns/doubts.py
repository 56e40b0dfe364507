"""Where a plan rests on what nobody knows: on prices that are wanting, and on what is undecided.

What has no price counts as nothing, wherever it is: nobody knows whether what is better then is better. What
is undecided counts as the cheapest that it can be. The plan is made once more with the dearest: what a part
comes to, opened or taken off, only grows with what is inside of it, so that nothing between the two ends
decides otherwise where both ends decide alike.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from gradewright.core.teardown.tree import Plan, Tree, plan
from gradewright.core.teardown.weights import ranges
from gradewright.teardowns.pricing import Offer, Pricing

UNDOUBTED = frozenset({"1", "2", "3"})
"""The methods that told nothing of what stays on, or is further inside, and has no price; nor of what is
undecided, but where the plan sells it as it is."""

BEYOND = frozenset({"1", "2", "3", "4"})
"""The methods by which weights ranged also where parts are heavier than what they are in."""


@dataclass(frozen=True, slots=True)
class Doubts:
    """By number of a part: `lacks`, whether something inside of it has no price; `opening` and `taking`,
    whether it is opened, or taken off, depends on what is undecided. `dear`: the plan where all of that is
    the dearest that it can be, None where nothing is undecided; `high`: what that comes to at most.
    """

    lacks: Sequence[bool]
    opening: Sequence[bool]
    taking: Sequence[bool]
    dear: Plan | None = None
    high: Fraction | None = None


def doubts(pricing: Pricing, tree: Tree, best: Plan, method: str) -> Doubts:
    """The doubts about the best plan, as a method tells them."""
    none = [False] * len(tree.nodes)
    if method in UNDOUBTED:
        return Doubts(none, none, none)
    lacks = _lacks(pricing.offers)
    dearer = {number for number, offer in enumerate(pricing.offers) if _is_dearer(offer)}
    if not dearer:
        return Doubts(lacks, none, none)
    dearest = ((number, pricing.offers[number]) for number in dearer)
    other = tree.paid(
        {
            number: replace(tree.nodes[number], whole=offer.dearest, tiers=offer.dearest_tiers)
            for number, offer in dearest
        }
    )
    dear = plan(other, best.rate)
    opening, taking = list(none), list(none)
    for number, (cheap, full) in enumerate(zip(best.nets.apart, dear.nets.apart, strict=True)):
        stays = dear.nets.stays[number]
        if cheap is not None and full is not None:
            if best.opened[number]:
                opening[number] = cheap * dear.nets.size <= dear.nets.whole[number] * best.nets.size
            else:
                opening[number] = full * best.nets.size > best.nets.whole[number] * dear.nets.size
        if stays is not None and not best.taken[number]:
            taking[number] = dear.nets.best[number] + dear.nets.off[number] > stays
    return Doubts(lacks, opening, taking, dear, ranges(other, dear, within=method not in BEYOND).both.high)


def _is_dearer(offer: Offer) -> bool:
    whole, most = offer.whole.pay, offer.dearest
    return whole is not None and most is not None and most.each_gram.likely > whole.each_gram.likely


def _lacks(offers: Sequence[Offer]) -> list[bool]:
    """By number, from the innermost outwards, whether anything inside has no price, or what is left over is
    of a grade that has none.
    """
    found = [False] * len(offers)
    for number in range(len(offers) - 1, -1, -1):
        offer = offers[number]
        part, left = offer.part, offer.left
        found[number] |= left is not None and left.pay is None and bool(part.left and part.left.grade)
        if part.inside is not None:
            found[part.inside] |= found[number] or offer.whole.pay is None
    return found
