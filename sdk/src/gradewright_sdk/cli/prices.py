"""gradewright-client prices and history: what is paid, and what was."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from gradewright_sdk.cli import _common as common

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from gradewright_sdk._models import PriceList, Series

MOST_REASONS = 5
PRICES_HELP = f"""Show the price list of a region or a yard, as of a day and as known at a revision.

Low, likely and high are per weight unit; beside them what they rest on.

{common.EXIT_CODES}
"""
HISTORY_HELP = f"""Show what a grade was worth in a region over time: a table, and a line of bars.

{common.EXIT_CODES}
"""


def prices(
    ctx: typer.Context,
    *,
    region: common.RegionOption = None,
    yard: common.YardOption = None,
    grade: Annotated[
        str | None, typer.Option("--grade", help="This grade alone: slug or alias.", show_default=False)
    ] = None,
    weight: Annotated[
        str | None, typer.Option("--weight", help='For a lot of this weight, "150 lb".', show_default=False)
    ] = None,
    on: common.OnOption = None,
    known_at: common.KnownAtOption = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    place = common.one_place(region, yard)
    with common.asking(ctx, url, timeout) as client:
        found = client.prices.list(
            region=place.get("region"),
            yard=place.get("yard"),
            on=on,
            known_at=common.revision_or_instant(known_at),
            weight=weight,
            grade=grade,
        )
    if json_:
        common.print_json(found.raw)
    else:
        _print_list(common.out(), found)


def history(
    ctx: typer.Context,
    grade: Annotated[str, typer.Argument(metavar="GRADE", help="The grade's slug.", show_default=False)],
    *,
    region: Annotated[str, typer.Option("--region", help="In this region.", show_default=False)],
    from_: Annotated[
        str | None, typer.Option("--from", help="From this day, YYYY-MM-DD.", show_default=False)
    ] = None,
    to: Annotated[
        str | None, typer.Option("--to", help="To this day, YYYY-MM-DD (today).", show_default=False)
    ] = None,
    step: Annotated[
        str | None, typer.Option("--step", help="day, week or month.", show_default=False)
    ] = None,
    known_at: common.KnownAtOption = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    if step not in {None, "day", "week", "month"}:
        raise typer.BadParameter("--step is day, week or month")
    with common.asking(ctx, url, timeout) as client:
        found = client.prices.series(
            region, grade, from_=from_, to=to, step=step, known_at=common.revision_or_instant(known_at)
        )
    if json_:
        common.print_json(found.raw)
    else:
        _print_series(common.out(), found)


def _table(*right: str, first: str) -> Table:
    from rich.table import Table as RichTable

    table = RichTable(box=None, padding=(0, 2, 0, 0), pad_edge=False)
    table.add_column(first, overflow="fold", ratio=1)
    for title in right:
        table.add_column(title, justify="right", no_wrap=True)
    return table


def _print_list(console: Console, found: PriceList) -> None:
    from gradewright_sdk.cli._show import rate, say, two_lines

    place = found.yard or found.region or ""
    console.print(say(f"{place}, {found.on}, in {found.currency}", "bold"))
    table = _table("Low", "Likely", "High", "Per", first="Grade")
    table.add_column("How sure", overflow="fold", ratio=1)
    for price in found.prices:
        table.add_row(
            two_lines(
                price.name, f"{price.grade} from {price.from_weight}" if price.from_weight else price.grade
            ),
            rate(price.low),
            rate(price.likely),
            rate(price.high),
            say(price.per),
            say(price.basis.says, "yellow" if price.basis.thin else ""),
        )
        for tier in price.tiers:
            amounts = (rate(tier.low), rate(tier.likely), rate(tier.high))
            table.add_row(say(f"  from {tier.from_weight}", "dim"), *amounts, say(price.per), "")
    if found.prices:
        console.print(table)
    _print_unpriced(console, found)
    console.print()
    console.print(say(f"Known at ledger revision {found.known_at}, by rulebook {found.rulebook}.", "dim"))


def _print_unpriced(console: Console, found: PriceList) -> None:
    """The grades without a price: each with why if they are few, else their slugs alone."""
    from rich.padding import Padding

    from gradewright_sdk.cli._show import say

    if not found.unpriced:
        return
    console.print()
    console.print(say(f"Without a price: {len(found.unpriced)}", "bold"))
    if len(found.unpriced) <= MOST_REASONS:
        for one in found.unpriced:
            console.print(say(f"  {one.grade}: {one.because}"))
        return
    slugs = ", ".join(one.grade for one in found.unpriced)
    console.print(Padding(say(f"{slugs}. With --grade it says why."), (0, 0, 0, 2)))


def _print_series(console: Console, found: Series) -> None:
    from gradewright_sdk._money import Money
    from gradewright_sdk.cli._show import rate, say, sparkline

    console.print(say(f"{found.grade} in {found.region}, {found.currency} per {found.per}", "bold"))
    likely = [point.likely.amount if point.likely is not None else None for point in found.points]
    known = [amount for amount in likely if amount is not None]
    if not known:
        console.print(say("No price was known on any of these days.", "yellow"))
    else:
        fits = likely[-max(console.width - 24, 10) :]
        bars = sparkline(fits, plain=not console.encoding.startswith("utf"))
        lowest, highest = (Money(amount, found.currency) for amount in (min(known), max(known)))
        console.print(say(f"{rate(lowest)} {bars} {rate(highest)}"))
    table = _table("Low", "Likely", "High", "Yards", "Newest", first="Day")
    for point in found.points:
        table.add_row(
            say(point.on),
            rate(point.low),
            rate(point.likely),
            rate(point.high),
            say(point.yards),
            say(point.newest or "-"),
        )
    console.print(table)
    console.print(say(f"Known at ledger revision {found.known_at}, by rulebook {found.rulebook}.", "dim"))
