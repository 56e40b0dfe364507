"""gradewright-client history: what a grade was worth, as a table, as a file or as a chart."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from gradewright_sdk.cli import _common as common
from gradewright_sdk.cli._written import write

HISTORY_HELP = f"""Show what a grade was worth in a region or at a yard over time: bars, and a table.

Days before the first price are left out, and days without one in between share a row. Where a region's
price rests on too few yards to be sure, it says "only".

With --output it is written as a file: CSV for a spreadsheet, with every day, or SVG, a chart that any
browser shows.

{common.EXIT_CODES}
"""
FORMATS = ("csv", "svg")


def history(
    ctx: typer.Context,
    grade: Annotated[
        str, typer.Argument(metavar="GRADE", help="The grade's slug, name or alias.", show_default=False)
    ],
    *,
    region: common.RegionOption = None,
    yard: common.YardOption = None,
    from_: Annotated[
        str | None,
        typer.Option("--from", help="From this day, YYYY-MM-DD (a year before).", show_default=False),
    ] = None,
    to: Annotated[
        str | None, typer.Option("--to", help="To this day, YYYY-MM-DD (today).", show_default=False)
    ] = None,
    step: Annotated[
        str | None, typer.Option("--step", help="day, week or month (week).", show_default=False)
    ] = None,
    weight: common.WeightOption = None,
    known_at: common.KnownAtOption = None,
    format_: Annotated[
        str | None,
        typer.Option("--format", help="Write a file: csv or svg (as its name ends).", show_default=False),
    ] = None,
    output: Annotated[
        str | None,
        typer.Option(
            "--output",
            "-o",
            help="The file to write, .csv or .svg (standard output).",
            show_default=False,
        ),
    ] = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    if step not in {None, "day", "week", "month"}:
        raise typer.BadParameter("--step is day, week or month")
    place = common.one_place(region, yard)
    file_format = _format(format_, output, as_json=json_)
    asked: dict[str, Any] = {
        **place, "from_": from_, "to": to, "step": step, "weight": weight,
        "known_at": common.revision_or_instant(known_at),
    }  # fmt: skip
    with common.asking(ctx, url, timeout) as client:
        if file_format is None:
            found = client.prices.series(grade, **asked)
        else:
            ask = client.prices.chart if file_format == "svg" else client.prices.series_csv
            file = ask(grade, **asked)
    if file_format is not None:
        where = f"at {yard}" if yard else f"in {region}"
        what = f"{grade} {where} as known at ledger revision {file.known_at}"
        write(ctx, file.content, output, what)
    elif json_:
        common.print_json(found.raw)
    else:
        from gradewright_sdk.cli._series import print_series

        print_series(common.out(), found)


def _format(named: str | None, output: str | None, *, as_json: bool) -> str | None:
    """The form of a file, by its name where it is not said; None where none was asked for."""
    if named is None and output is None:
        return None
    if as_json:
        raise typer.BadParameter("give --json, or --format and --output for a file of CSV or SVG, not both")
    found = named or Path(output or "").suffix.removeprefix(".").casefold()
    if found not in FORMATS:
        raise typer.BadParameter("write --format csv or --format svg, or a file that is named so")
    return found
