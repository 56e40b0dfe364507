"""Better prices for larger lots: where the best that a place pays rises with the weight of a pile."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from gradewright.core.rates import Rate


class FromWeight(NamedTuple):
    """A yard's price from a weight on, which is `written` as it was posted (None: from nothing on)."""

    from_grams: Decimal
    written: str | None
    rate: Rate


class Offer(NamedTuple):
    """What one yard pays for a grade: its slug and name, and its tiers, ascending."""

    yard: str
    name: str
    tiers: Sequence[FromWeight]


@dataclass(frozen=True, slots=True)
class Step:
    """The best price from a weight on (`written`: as posted), and the best of any yard below that weight."""

    yard: str
    name: str
    from_grams: Decimal
    written: str
    before: Rate
    after: Rate


def steps_of(offers: Sequence[Offer]) -> tuple[Step, ...]:
    """The weights from which on a place pays more for a grade than any of its yards pays below, ascending.

    There is none below which nobody has posted anything. Of yards that pay the same, the first is named.
    """
    found: list[Step] = []
    before: Rate | None = None
    for from_grams in sorted({tier.from_grams for offer in offers for tier in offer.tiers}):
        there = [(offer, tier) for offer in offers if (tier := _tier_at(offer, from_grams)) is not None]
        offer, tier = max(there, key=lambda one: exact(one[1].rate, 1))
        if before is None:
            before = tier.rate
        elif tier.written is not None and exact(tier.rate, 1) > exact(before, 1):
            found.append(Step(offer.yard, offer.name, from_grams, tier.written, before, tier.rate))
            before = tier.rate
    return tuple(found)


def _tier_at(offer: Offer, grams: Decimal) -> FromWeight | None:
    return next((tier for tier in reversed(offer.tiers) if tier.from_grams <= grams), None)


def exact(rate: Rate, per_unit: int) -> Fraction:
    """The price of one gram, in so many parts of the currency's unit."""
    return Fraction(*rate.ratio(per_unit))
