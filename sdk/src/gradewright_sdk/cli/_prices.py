"""A price list for people: by families, each grade with its prices and what they rest on below."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.padding import Padding
from rich.text import Text

from gradewright_sdk.cli._basis import Asked
from gradewright_sdk.cli._layout import Entry, stacked
from gradewright_sdk.cli._show import clean, rate, rates, say

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk._models import Price, PriceList, Rulebook

MOST_REASONS = 5
HEADS = ("Low", "Likely", "High")


def print_list(console: Console, found: PriceList, book: Rulebook, *, kin: bool) -> None:
    """The list; without `kin` only how many grades have the price of a related one."""
    place = found.yard or found.region or ""
    shown = [price for price in found.prices if kin or price.basis.kind != "kin"]
    units = {price.per for price in shown}
    unit = f" per {units.pop()}" if len(units) == 1 else ""
    console.print(say(f"{place}, {found.on}, in {found.currency}{unit}", "bold"))
    asked = Asked(place, found.on, found.yard is not None)
    families: dict[str, list[Entry]] = {}
    for price, entry in zip(shown, _entries(shown, asked, with_unit=not unit), strict=True):
        families.setdefault(price.family, []).append(entry)
    heads = HEADS if unit else (*HEADS, "Per")
    for family, entries in families.items():
        name = book.families[family].name if family in book.families else family or "Others"
        console.print()
        for one in stacked(say(name, "bold"), heads, entries):
            console.print(one)
    _print_unpriced(console, found)
    console.print()
    left = len(found.prices) - len(shown)
    if left:
        are = "is" if left == 1 else "are"
        console.print(say(f"{left} more {are} priced by a related grade: --all"))
    console.print(say(f"Known at ledger revision {found.known_at}, by rulebook {found.rulebook}.", "dim"))


def _entries(prices: Sequence[Price], asked: Asked, *, with_unit: bool) -> list[Entry]:
    columns = [
        rates([price.low for price in prices]),
        rates([price.likely for price in prices]),
        rates([price.high for price in prices]),
    ]
    if with_unit:
        longest = max((len(price.per) for price in prices), default=0)
        columns.append([price.per.ljust(longest) for price in prices])
    return [
        Entry(say(price.name), [say(figure) for figure in figures], _below(price, asked))
        for price, *figures in zip(prices, *columns, strict=True)
    ]


def _below(price: Price, asked: Asked) -> Text:
    line = Text().append(clean(price.grade))
    if price.from_weight:
        line.append(clean(f" from {price.from_weight}"))
    line.append(" · ", "dim").append_text(asked.rests_on(price.basis))
    for tier in price.tiers:
        if tier.from_weight != price.from_weight:
            amounts = " – ".join(map(rate, (tier.low, tier.likely, tier.high)))
            line.append(clean(f" · from {tier.from_weight} {amounts}"), "dim")
    return line


def _print_unpriced(console: Console, found: PriceList) -> None:
    """The grades without a price: each with why if they are few, else their slugs alone."""
    if not found.unpriced:
        return
    console.print()
    console.print(say(f"Without a price: {len(found.unpriced)}", "bold"))
    if len(found.unpriced) <= MOST_REASONS:
        lines = [f"{one.grade}: {one.because}" for one in found.unpriced]
    else:
        lines = [", ".join(one.grade for one in found.unpriced) + ". With --grade it says why."]
    for line in lines:
        console.print(Padding(say(line), (0, 0, 0, 2)))
