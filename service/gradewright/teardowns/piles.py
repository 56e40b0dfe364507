"""What a plan's parts come to by grade, and where a pile reaches another price than it was counted at."""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction
from typing import Any, NamedTuple

from gradewright.core.pricelist import Price
from gradewright.core.teardown.tree import NOTHING, Plan, Tree, left_over
from gradewright.core.units import parse_mass
from gradewright.teardowns.figures import Purse, weight
from gradewright.teardowns.lots import in_milligrams
from gradewright.teardowns.pricing import Paid, Pricing, each_gram
from gradewright.teardowns.worked import Worked


class Pile(NamedTuple):
    """All that a plan sells of one grade: its grams, what that is counted at in minor units, and at which
    price the heaviest lot of it is.
    """

    grams: Fraction
    amount: Fraction
    price: Price

    def more(self, price: Price | None) -> Fraction:
        """What it comes to more at another price."""
        return NOTHING if price is None else each_gram(price).likely * self.grams - self.amount


def piled(pricing: Pricing, tree: Tree, plan: Plan) -> dict[str, Pile]:
    """The piles of a plan by grade."""
    places: dict[str, list[tuple[Fraction, Paid]]] = defaultdict(list)
    over, gram = left_over(tree, plan.taken), tree.sized.gram
    for offer in pricing.offers:
        part, number = offer.part, offer.part.number
        if not plan.reached[number]:
            continue
        if part.grade is not None and not plan.opened[number]:
            places[part.grade].append((part.grams.likely, offer.whole))
        elif plan.opened[number] and offer.left is not None and part.left is not None and part.left.grade:
            left = Fraction(over[number], gram)
            if left:
                places[part.left.grade].append((left, offer.left))
    found = {}
    for grade, sold in places.items():
        prices = [paid.price for _, paid in sold if paid.price is not None]
        if prices:
            amount = sum((paid.pay.of(grams) for grams, paid in sold if paid.pay is not None), NOTHING)
            grams = sum((grams for grams, _ in sold), NOTHING)
            found[grade] = Pile(grams, amount, max(prices, key=begins))
    return found


def reached(pricing: Pricing, grade: str, pile: Pile) -> Price | None:
    """The price that a pile truly has: that for its weight, or for a heavier lot that was named."""
    floor = pricing.lots.floors.get(grade, NOTHING) if pricing.lots.own else NOTHING
    return pricing.prices.price(grade, max(in_milligrams(pile.grams), in_milligrams(Fraction(floor))))


def piles(worked: Worked, purse: Purse) -> list[dict[str, Any]]:
    """The piles of the plan, dearest first."""
    every = piled(worked.pricing, worked.tree, worked.plan)
    found = [(pile.amount, grade, _pile(worked, grade, pile, purse)) for grade, pile in every.items()]
    return [told for _, _, told in sorted(found, key=lambda one: (-one[0], one[1]))]


def _pile(worked: Worked, grade: str, pile: Pile, purse: Purse) -> dict[str, Any]:
    counted, pricing = begins(pile.price), worked.pricing
    above = [tier for tier in pricing.prices.tiers(grade) if counted < begins(tier) <= pile.grams]
    says = None
    name = pricing.version.rulebook.grades[grade].name
    if pile.grams < counted:
        says = (
            f"{name} is counted as in a lot from {pile.price.shown.from_weight}, and this pile is lighter: "
            "bring more of it, or ask again with the lot that you have."
        )
    elif pricing.lots.own:
        now = reached(pricing, grade, pile)
        more = pile.more(now)
        if now is not None and purse.minor(more):
            best = now.shown
            lot = f" from {best.from_weight}" if best.from_weight else ""
            less = "more" if more > 0 else "less"
            says = (
                f"{name} is counted by each part for itself. All together this pile is paid {best.likely} "
                f"{purse.currency} per {best.per}{lot}: {purse.amount(abs(more))} {less} in all; ask "
                "again with a lot of that weight."
            )
    elif above:
        best = above[-1].shown
        says = (
            f"This pile reaches {best.likely} {purse.currency} per {best.per} from {best.from_weight}: ask "
            "again with a lot of that weight."
        )
    return {
        "grade": grade,
        "name": name,
        "weight": weight(pile.grams),
        "amount": purse.amount(pile.amount),
        "says": says,
    }


def begins(price: Price) -> Fraction:
    """From how many grams on a price is paid."""
    written = price.shown.from_weight
    return NOTHING if written is None else Fraction(parse_mass(written).grams)
