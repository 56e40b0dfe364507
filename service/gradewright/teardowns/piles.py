"""What a plan's parts come to by grade, and where a pile reaches a better price than it was counted at."""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction
from typing import Any

from gradewright.core.pricelist import Price
from gradewright.core.units import parse_mass
from gradewright.teardowns.figures import Purse, weight
from gradewright.teardowns.words import SELL, choice
from gradewright.teardowns.worked import Worked, left_grams


def piles(worked: Worked, purse: Purse) -> list[dict[str, Any]]:
    """The piles of the plan, dearest first."""
    grams: dict[str, Fraction] = defaultdict(Fraction)
    for offer in worked.pricing.offers:
        part = offer.part
        if part.grade is not None and choice(worked, part.number) == SELL:
            grams[part.grade] += part.grams.likely
        opened = worked.plan.reached[part.number] and worked.plan.opened[part.number]
        if opened and part.left is not None and part.left.grade is not None:
            left = left_grams(worked, part.number)
            if left:
                grams[part.left.grade] += left
    found = []
    for grade, weighs in grams.items():
        paid = worked.pricing.of(grade)
        if paid.pay is not None and paid.price is not None:
            amount = paid.pay.of(weighs)
            found.append((amount, grade, _pile(worked, grade, weighs, paid.price, amount, purse)))
    return [told for _, _, told in sorted(found, key=lambda one: (-one[0], one[1]))]


def _pile(
    worked: Worked, grade: str, grams: Fraction, price: Price, amount: Fraction, purse: Purse
) -> dict[str, Any]:
    counted = _from(price)
    reached = [tier for tier in worked.pricing.prices.tiers(grade) if counted < _from(tier) <= grams]
    says = None
    name = worked.pricing.version.rulebook.grades[grade].name
    if grams < counted:
        says = (
            f"{name} is counted as in a lot from {price.shown.from_weight}, and this pile is lighter: bring "
            "more of it, or ask again with the lot that you have."
        )
    elif reached:
        best = reached[-1].shown
        says = (
            f"This pile reaches {best.likely} {purse.currency} per {best.per} from {best.from_weight}: ask "
            "again with a lot of that weight."
        )
    return {
        "grade": grade,
        "name": name,
        "weight": weight(grams),
        "amount": purse.amount(amount),
        "says": says,
    }


def _from(price: Price) -> Fraction:
    written = price.shown.from_weight
    return Fraction(0) if written is None else Fraction(parse_mass(written).grams)
