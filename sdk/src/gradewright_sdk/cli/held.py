"""gradewright-client held: the prices of a region that wait."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from gradewright_sdk.cli import _common as common

if TYPE_CHECKING:
    from datetime import date

    from rich.console import Console
    from rich.text import Text

    from gradewright_sdk._models import HeldPrice, HeldPrices, PostedPrice, Posting
    from gradewright_sdk.cli._layout import Entry

HELP = f"""List the prices of a region that wait instead of counting, with the figures that hold them.

What others are paid, in the middle, is told per the unit of the price that waits. With a member's key in
GRADEWRIGHT_KEY your own prices, with a maintainer's all. --on tells what waits in the list of another
day: what was posted of long ago waits there, and not today.

{common.EXIT_CODES}
"""
HEADS = ("Price", "Others are paid", "Score")
OFF = {"far-off": "far off", "outlier": "an outlier among"}
SCORE = (
    "Score: how far off a price is, counted in how far off the others commonly are (a modified z-score). The "
    "rulebook's pricing says above which one a price waits."
)
OLDER = (
    "{many} behind newer ones of the same member for the same, not listed (--json has them) unless those are "
    "rejected or taken back."
)
NEXT = (
    "Each counts once another member confirms it (`gradewright-client confirm POSTING --line N --reason "
    "WHY`) or says the same of that yard, unless those who dispute it or lately said otherwise there weigh "
    "more; or once a maintainer accepts it (`gradewright-client decide`)."
)


def held(
    ctx: typer.Context,
    *,
    region: Annotated[
        str, typer.Option("--region", help="Prices of this region, such as XO-KEL.", show_default=False)
    ],
    on: common.OnOption = None,
    known_at: common.KnownAtOption = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    with common.asking(ctx, url, timeout) as client:
        found = client.postings.held(region, on=on, known_at=common.revision_or_instant(known_at))
    if json_:
        common.print_json(found.raw)
    else:
        _print(common.out(), found, region if on is None else f"{region} on {on}")


def _print(console: Console, found: HeldPrices, place: str) -> None:
    from gradewright_sdk.cli._layout import stacked
    from gradewright_sdk.cli._show import say

    postings, older = _newest(found.postings)
    count = sum(len(prices) for _, prices in postings)
    if not count:
        console.print(say(f"No price in {place} waits that this key may see."))
        return
    waits = f"{count} prices wait" if count > 1 else "1 price waits"
    console.print(say(f"{place}: {waits} that this key may see", "bold"))
    for posting, prices in postings:
        console.print()
        for one in stacked(_title(posting), HEADS, [_entry(price) for price in prices]):
            console.print(one)
    console.print()
    if older:
        console.print(
            say(OLDER.format(many="1 older price waits" if older == 1 else f"{older} older prices wait"))
        )
    prices = [price for _, prices in postings for price in prices]
    if any(price.held is not None and price.held.score is not None for price in prices):
        console.print(say(SCORE, "dim"))
    console.print(say(NEXT, "dim"))


def _newest(postings: Sequence[Posting]) -> tuple[list[tuple[Posting, list[PostedPrice]]], int]:
    """The postings with those prices in whose place no newer one of their author waits; how many others."""
    newest: dict[tuple[str, ...], tuple[date, int]] = {}
    for posting in postings:
        for price in posting.prices:
            key, when = _of(posting, price), (posting.observed_on, posting.revision)
            newest[key] = max(newest.get(key, when), when)
    kept, older = [], 0
    for posting in postings:
        when = (posting.observed_on, posting.revision)
        prices = [price for price in posting.prices if newest[_of(posting, price)] == when]
        older += len(posting.prices) - len(prices)
        if prices:
            kept.append((posting, prices))
    return kept, older


def _of(posting: Posting, price: PostedPrice) -> tuple[str, ...]:
    """What a price is about, and who says it."""
    return posting.author, posting.yard, price.grade, price.from_weight or ""


def _title(posting: Posting) -> Text:
    from gradewright_sdk.cli._show import say

    seen = f"{posting.yard}, {posting.observed_on}, {posting.evidence}, by {posting.author}"
    return say(posting.id, "bold").append_text(say(f"  {seen}", "not bold"))


def _entry(price: PostedPrice) -> Entry:
    from gradewright_sdk.cli._layout import Entry
    from gradewright_sdk.cli._show import number, say
    from gradewright_sdk.cli._units import told_per

    why = price.held
    name = f"{price.line:>3}  {price.grade}" + (f", from {price.from_weight}" if price.from_weight else "")
    median = "-" if why is None or why.median is None else told_per(price.per, why.median)
    score = "-" if why is None or why.score is None else f"{why.score:f}"
    below = "" if why is None else _because(why, price.per)
    figures = [say(f"{number(price.price)} {price.currency}/{price.per}"), say(median), say(score)]
    return Entry(say(name), figures, say(f"   {below}", "dim") if below else None)


def _because(why: HeldPrice, per: str) -> str:
    """Why it waits, in the unit of the price; a dispute in the service's own sentence."""
    from gradewright_sdk.cli._units import told_per

    if why.median is None:
        return why.says
    told = f"{OFF.get(why.because, why.because)} what others of {why.yards} yards say"
    if why.spread is None:
        return f"{told}: the nearest of them"
    return f"{told}, who are {told_per(per, why.spread)} apart"
