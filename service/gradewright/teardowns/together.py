"""Whether another plan is better once all that it sells of a grade is put into one pile.

A plan is made with each part as a lot of its own. Several parts of a grade may reach a better price together,
also where they only come out by another plan. So plans are made with all there is of each grade as one lot,
and where a plan's own pile is lighter than it was counted, with that pile, until no pile is. What each of
them comes to is reckoned from its own piles. A plan that would take work which does not pay for itself, only
to make a pile heavier, is not looked for.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any, NamedTuple

from gradewright.core.teardown.tree import Plan, Tree, left_over, plan
from gradewright.core.units import parse_mass
from gradewright.teardowns.figures import Purse, weight
from gradewright.teardowns.lots import NO_LOT, in_milligrams
from gradewright.teardowns.piles import Pile, piled, reached
from gradewright.teardowns.pricing import Pricing
from gradewright.teardowns.worked import Worked

MOST_TRIES = 12
MOST_NAMED = 3
Levels = dict[str, Decimal]


class Tried(NamedTuple):
    """A plan, its piles, and what it leaves at the prices of these."""

    pricing: Pricing
    tree: Tree
    plan: Plan
    piles: Mapping[str, Pile]
    net: Fraction


def together(worked: Worked, purse: Purse) -> dict[str, Any] | None:
    """The plan that leaves most once piles are counted, where that is another one, and how to ask for it."""
    levels = _all_there_is(worked.pricing, worked.tree)
    if not levels:
        return None
    now = _reckoned(worked, worked.pricing, worked.tree, worked.plan)
    best = max(_down(worked, levels), key=lambda one: one.net)
    gain = best.net - now.net
    if purse.minor(gain) <= 0:
        return None
    lots = _lots(worked, best)
    says = _says(worked, best, purse.amount(gain), purse.currency)
    if lots:
        says += (
            " Ask again with these lots: " + "; ".join(f"{grade} {lot}" for grade, lot in lots.items()) + "."
        )
    return {"gain": purse.amount(gain), "lots": lots, "says": says}


def _all_there_is(pricing: Pricing, tree: Tree) -> Levels:
    """By grade of which all there can be at most pays otherwise than the least: how much that is."""
    found: dict[str, int] = defaultdict(int)
    left = left_over(tree, [True] * len(tree.nodes))
    for offer, grams, over in zip(pricing.offers, tree.sized.grams, left, strict=True):
        part = offer.part
        if part.grade is not None:
            found[part.grade] += grams
        if part.left is not None and part.left.grade is not None:
            found[part.left.grade] += over
    price, gram = pricing.prices.price, tree.sized.gram
    most = {
        grade: in_milligrams(Fraction(grams, gram))
        for grade, grams in found.items()
        if pricing.prices.for_any_lot(grade) is None
    }
    return {grade: lot for grade, lot in most.items() if price(grade, lot) is not price(grade, NO_LOT)}


def _down(worked: Worked, levels: Levels) -> Iterator[Tried]:
    """Plans with lots as heavy as that, and with what they truly sell, until no pile is lighter than it is
    counted.
    """
    pricing = None
    for _ in range(MOST_TRIES):
        pricing = worked.pricing.in_lots(levels, pricing)
        tree = pricing.tree
        found = _reckoned(worked, pricing, tree, plan(tree, worked.plan.rate))
        yield found
        lighter = {
            grade: in_milligrams(pile.grams)
            for grade, pile in found.piles.items()
            if grade in levels
            and pile.grams < levels[grade]
            and pile.more(reached(worked.pricing, grade, pile))
        }
        if not lighter:
            return
        levels = {**levels, **lighter}


def _reckoned(worked: Worked, pricing: Pricing, tree: Tree, found: Plan) -> Tried:
    sold = piled(pricing, tree, found)
    more = (pile.more(reached(worked.pricing, grade, pile)) for grade, pile in sold.items())
    return Tried(pricing, tree, found, sold, sum(more, found.net))


def _lots(worked: Worked, best: Tried) -> dict[str, str]:
    """The lots with which that plan is answered, as the prices have them; none where that is not so."""
    found = {}
    for grade, pile in best.piles.items():
        price = reached(worked.pricing, grade, pile)
        if price is not None and price.shown.from_weight is not None:
            found[grade] = price.shown.from_weight
    pricing = worked.pricing.in_lots(
        {grade: parse_mass(lot).grams for grade, lot in found.items()}, best.pricing
    )
    tree = pricing.tree
    again = plan(tree, worked.plan.rate)
    return found if again.net == best.net == _reckoned(worked, pricing, tree, again).net else {}


def _says(worked: Worked, best: Tried, gain: str, currency: str) -> str:
    """What is done otherwise, and which piles that makes."""
    names = [offer.part.given.name for offer in worked.pricing.offers]
    found = []
    for number, name in enumerate(names):
        before, after = (
            (one.reached[number], one.reached[number] and one.opened[number])
            for one in (worked.plan, best.plan)
        )
        if after[1] != before[1] and after[0]:
            found.append(f"open {name}" if after[1] else f"sell {name} whole")
        elif after[0] and not before[0] and worked.tree.nodes[number].minutes:
            found.append(f"take {name} off")
    more = len(found) - MOST_NAMED
    done = ", ".join(found[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")
    grades = worked.pricing.version.rulebook.grades
    piles = ", ".join(
        f"{weight(pile.grams)['shown']} of {grades[grade].name}"
        for grade, pile in best.piles.items()
        if (price := reached(worked.pricing, grade, pile)) is not None and price.shown.from_weight is not None
    )
    sold = f" sells {piles} together and" if piles else ""
    return f"Another plan ({done or 'the same parts'}){sold} leaves {gain} {currency} more."
