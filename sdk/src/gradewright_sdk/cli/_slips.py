"""Prices that count, and are so far from what was paid before that the point may stand in the wrong place."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_HALF_EVEN, Decimal
from typing import TYPE_CHECKING

from gradewright_sdk import _exceptions as ex
from gradewright_sdk.cli._show import number, rate
from gradewright_sdk.cli._units import KILOGRAMS

if TYPE_CHECKING:
    from gradewright_sdk._client import Client
    from gradewright_sdk._models import PostedPrice, Posting, Price

FAR = Decimal(5)
"""So many times what was paid before, or that part of it: no market does that, a slip of the point does."""
UNSURE = "Whether a price of it is far from what was paid there before could not be asked."
WHERE = {"yard": "there before", "region": "in {place} before", "parent": "in {place} before"}


def slips(
    client: Client, posting: Posting, prices: Sequence[PostedPrice], instead_of: str | None = None
) -> list[str]:
    """A sentence for each of a posting's prices that counts and is far from what was known before it of the
    day on which it was seen: at its yard, by its author too, or else in its region. `instead_of`: the posting
    that it puts right, which was a slip itself.

    What is stored is stored whatever comes of this: that is never an error of the command.
    """
    counting = [price for price in prices if price.status == "counts" and price.price.amount > 0]
    if not counting:
        return []
    alone = counting[0].grade if len(counting) == 1 else None
    try:
        revision = posting.revision if instead_of is None else client.postings.get(instead_of).revision
        before = client.prices.list(
            yard=posting.yard, on=posting.observed_on, known_at=revision - 1, grade=alone
        )
    except (ex.NotFound, ex.InvalidRequest):
        return []  # no price list could be made then: nothing was known
    except ex.GradewrightError:
        return [UNSURE]
    told = []
    for price in counting:
        known = before.get(price.grade)
        says = None if known is None else _far(price, known)
        if says is not None:
            told.append(
                f"line {price.line}, {price.grade} {number(price.price)} {price.currency}/{price.per}: {says}"
            )
    if told:
        told.append(
            f"If it is a slip: `gradewright-client correct {posting.id} --line N --price … --reason …` puts "
            "it right."
        )
    return told


def _far(price: PostedPrice, known: Price) -> str | None:
    """How many times what was known a price is; None where it is not far, or cannot be compared."""
    sizes = KILOGRAMS.get(price.per), KILOGRAMS.get(known.per)
    where = WHERE.get(known.basis.kind)
    if where is None or None in sizes or known.likely.amount <= 0:
        return None
    here, there = (size for size in sizes if size is not None)
    times = (price.price.amount / here) / (known.likely.amount / there)
    if 1 / FAR < times < FAR:
        return None
    paid = f"{rate(known.likely * (here / there))} {known.likely.currency}/{price.per}"
    much = f"{_rounded(times)} times" if times > 1 else f"{_rounded(times * 100)} % of"
    newest = "" if known.basis.newest is None else f", seen on {known.basis.newest}"
    return f"it counts, and is {much} what was paid {where.format(place=known.basis.place)}, {paid}{newest}."


def _rounded(value: Decimal) -> str:
    digits = Decimal(1) if value >= 10 else Decimal("0.1")
    return f"{value.quantize(digits, ROUND_HALF_EVEN).normalize():f}"
