"""Prices that count, and are so far from what the list had that the point may stand in the wrong place."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import ROUND_HALF_EVEN, Decimal
from typing import TYPE_CHECKING

from gradewright_sdk import _exceptions as ex
from gradewright_sdk.cli._show import number, rate
from gradewright_sdk.cli._units import KILOGRAMS

if TYPE_CHECKING:
    from gradewright_sdk._client import Client
    from gradewright_sdk._models import ListChange, PostedPrice, Posting, Price

FAR = Decimal(5)
"""So many times what was paid before, or that part of it: no market does that, a slip of the point does."""
UNSURE = "Whether a price of it is far from what was paid there before could not be asked."
PAID = {
    "yard": "what was paid there before",
    "region": "what was paid in {place} before",
    "parent": "what was paid in {place} before",
}
CAN_COUNT = {"counts": "counts, and is", "overtaken": "is", "stale": "is"}
"""What is told of a price that may be a slip: that it counts today; or nothing of that, where it may count in
lists of its own day alone."""
LISTED = "what the list had before"
"""Where nobody had posted the grade: its price rested on that of another one, or on what only newer services
know."""


def slips(
    client: Client, posting: Posting, prices: Sequence[PostedPrice], instead_of: str | None = None
) -> list[str]:
    """A sentence for each of a posting's prices that counts and is far from what was known before it of the
    day on which it was seen: at its yard, by its author too, or else in its region or by its kin.
    `instead_of`: the posting that it puts right, which was a slip itself.

    What is stored is stored whatever comes of this: that is never an error of the command.
    """
    counting = [price for price in prices if price.status in CAN_COUNT and price.price.amount > 0]
    if not counting:
        return []
    try:
        revision = posting.revision if instead_of is None else client.postings.get(instead_of).revision
        found = far_off(client, posting.yard, posting.observed_on, revision - 1, counting)
    except ex.GradewrightError:
        return [UNSURE]
    far = [(price, says) for price, says in zip(counting, found, strict=True) if says is not None]
    told = [
        f"line {price.line}, {price.grade} {number(price.price)} {price.currency}/{price.per}: "
        f"it {CAN_COUNT[price.status]} {says}."
        for price, says in far
    ]
    if told:
        told.append(mend(posting.id, [price.line for price, _ in far]))
    return told


def mend(posting: str, lines: Sequence[int]) -> str:
    """What puts slips of some lines right."""
    options = " ".join(f"--line {one}" for one in lines)
    command = f"gradewright-client correct {posting} {options} --price … --reason …"
    return f"If it is a slip: `{command}` puts it right."


def far_off(
    client: Client, yard: str, on: date, known_at: int, prices: Sequence[PostedPrice | ListChange]
) -> list[str | None]:
    """Of each price how many times what was known of a yard's day at a revision it is, and what that was;
    None where it is near that, or nothing can be compared. Raises where it cannot be asked."""
    paid = [price for price in prices if price.price is not None and price.price.amount > 0]
    if not paid:
        return [None] * len(prices)
    alone = paid[0].grade if len(paid) == 1 else None
    try:
        before = client.prices.list(yard=yard, on=on, known_at=known_at, grade=alone)
    except (ex.NotFound, ex.InvalidRequest):
        return [None] * len(prices)  # no price list could be made then: nothing was known
    return [_far(price, before.get(price.grade)) if price.grade else None for price in prices]


def _far(price: PostedPrice | ListChange, known: Price | None) -> str | None:
    if known is None or price.price is None or price.per is None:
        return None
    here, there = KILOGRAMS.get(price.per), KILOGRAMS.get(known.per)
    if here is None or there is None or known.likely.amount <= 0 or price.price.amount <= 0:
        return None
    times = (price.price.amount / here) / (known.likely.amount / there)
    if 1 / FAR < times < FAR:
        return None
    before = f"{rate(known.likely * (here / there))} {known.likely.currency}/{price.per}"
    much = f"{_rounded(times)} times" if times > 1 else f"{_rounded(times * 100)} % of"
    if known.basis.kind not in PAID:
        return f"{much} {LISTED}, {before}: {known.basis.says}"
    newest = "" if known.basis.newest is None else f", seen on {known.basis.newest}"
    return f"{much} {PAID[known.basis.kind].format(place=known.basis.place)}, {before}{newest}"


def _rounded(value: Decimal) -> str:
    digits = Decimal(1) if value >= 10 else Decimal("0.1")
    return f"{value.quantize(digits, ROUND_HALF_EVEN).normalize():f}"
