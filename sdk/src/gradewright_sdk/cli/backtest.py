"""gradewright-client backtest: how well prices would have been predicted."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from gradewright_sdk.cli import _common as common

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from gradewright_sdk._models import Backtest, Predicted, Predictions

HELP = f"""Predict the prices seen in a region from what was known the day before, and tell how far off.

Each price of the span is hidden and predicted three times: by the price last posted at that yard, by the
region's likely price, and by that with benchmarks. Told are the median error, in percent of the price paid,
and how many of 100 prices lay between low and high: of quartiles one expects about 50. Behind that stands,
in brackets, between what it may truly be: the fewer the prices, the wider. At most 10,000 prices.

Known is what had been recorded by the end of the day before. Of a history that was uploaded at once that is
nothing: with --known-when seen its prices count as known from the day on which they were seen.

{common.EXIT_CODES}
"""
UPLOADED = (
    "Where they were recorded only later, as a history that is uploaded at once, take them as known from the "
    "day on which they were seen: --known-when seen."
)
METHODS = {
    "last-posted": "last posted there",
    "consensus": "likely price",
    "consensus-with-benchmark": "with benchmarks",
}


def backtest(
    ctx: typer.Context,
    *,
    region: Annotated[
        str, typer.Option("--region", help="Prices of this region, such as XO-KEL.", show_default=False)
    ],
    since: Annotated[
        str | None,
        typer.Option("--from", help="Seen from this day on (28 days before the last).", show_default=False),
    ] = None,
    until: Annotated[
        str | None, typer.Option("--to", help="Up to this day (today).", show_default=False)
    ] = None,
    grade: Annotated[
        str | None, typer.Option("--grade", help="This grade alone: slug or alias.", show_default=False)
    ] = None,
    known_at: common.KnownAtOption = None,
    known_when: Annotated[
        str | None,
        typer.Option(
            "--known-when",
            help="Prices are known once they were: recorded or seen (recorded).",
            show_default=False,
        ),
    ] = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 60.0,
) -> None:
    """The command."""
    if known_when not in {None, "recorded", "seen"}:
        raise typer.BadParameter("--known-when is recorded or seen")
    with common.asking(ctx, url, timeout) as client:
        known = common.revision_or_instant(known_at)
        found = client.prices.backtest(
            region, from_=since, to=until, grade=grade, known_at=known, known_when=known_when
        )
    if json_:
        common.print_json(found.raw)
    else:
        _print(common.out(), found)


def _print(console: Console, found: Backtest) -> None:
    from gradewright_sdk.cli._show import say

    console.print(say(f"{found.region}, prices seen from {found.from_} to {found.to}", "bold"))
    if found.overall is None:
        console.print(say("No price could be tested: of none was anything known the day before.", "yellow"))
        if found.unknown and found.known_when == "recorded":
            console.print(say(UPLOADED, "yellow"))
    else:
        console.print(_overall(found.overall))
        for title, groups in (("Yards", found.by_yards), ("Grade", found.by_grade)):
            console.print()
            console.print(_groups(title, groups))
    console.print(say(_left_out(found), "dim"))
    console.print(say(f"Known at ledger revision {found.known_at}, by {_rulebooks(found.rulebooks)}.", "dim"))


def _overall(figures: Predictions) -> Table:
    from rich.table import Table

    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False)
    table.add_column(f"{figures.cases} {'price' if figures.cases == 1 else 'prices'}, predicted by")
    table.add_column("Median error", justify="right")
    table.add_column("Between low and high", justify="right")
    for one in figures.methods:
        within = "-" if one.within is None else f"{one.within:.1f} %{_sure(one)}"
        table.add_row(METHODS.get(one.method, one.method), f"{one.median_error:.2f} %", within)
    return table


def _sure(one: Predicted) -> str:
    """Between what the share may truly lie, where the service tells it."""
    if one.within_from is None or one.within_to is None:
        return ""
    return f" ({one.within_from:.0f} to {one.within_to:.0f})"


def _groups(title: str, groups: tuple[Predictions, ...]) -> Table:
    """Errors of all methods side by side, and how many lay between low and high by the last."""
    from rich.table import Table

    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False)
    table.add_column(title)
    for name in ("Prices", "Last", "Likely", "Benchm.", "Between"):
        table.add_column(name, justify="right")
    for figures in groups:
        errors = {one.method: f"{one.median_error:.1f} %" for one in figures.methods}
        last = next((one for one in reversed(figures.methods) if one.within is not None), None)
        table.add_row(
            str(figures.grade if figures.yards is None else figures.yards),
            str(figures.cases),
            *(errors.get(method, "-") for method in METHODS),
            "-" if last is None else f"{last.within:.0f} %{_sure(last)}",
        )
    return table


def _rulebooks(by: tuple[str, ...]) -> str:
    if len(by) > 1:
        return f"rulebooks {by[0]} to {by[-1]}"
    return f"rulebook {by[0]}" if by else "no rulebook"


def _left_out(found: Backtest) -> str:
    return (
        f"Left out: {found.unknown} of which too little was known the day before, {found.waiting} that wait."
    )
