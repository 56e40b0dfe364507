"""gradewright-client benchmarks: what markets quote, with which prices age."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from gradewright_sdk.cli import _common as common
from gradewright_sdk.cli._written import write

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk._models import Benchmark, BenchmarkValues

HELP = f"""List the benchmarks, or show one with its values: what a market quotes, day by day.

Prices of grades that follow a benchmark move with it from the day on which they were seen. `--format csv`
writes its values in the form in which `gradewright-client keep` takes them.

{common.EXIT_CODES}
"""
MOST_SHOWN = 30


def benchmarks(
    ctx: typer.Context,
    benchmark: Annotated[
        str | None, typer.Argument(metavar="BENCHMARK", help="One of them, by its slug.", show_default=False)
    ] = None,
    *,
    since: Annotated[
        str | None, typer.Option("--from", help="Values from this day on, YYYY-MM-DD.", show_default=False)
    ] = None,
    until: Annotated[
        str | None, typer.Option("--to", help="Values up to this day.", show_default=False)
    ] = None,
    known_at: common.KnownAtOption = None,
    format_: Annotated[
        str | None, typer.Option("--format", help="csv: its values as a file.", show_default=False)
    ] = None,
    output: Annotated[
        str | None,
        typer.Option("--output", "-o", help="The file to write (standard output).", show_default=False),
    ] = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    as_csv = format_ == "csv"
    if format_ is not None and not as_csv:
        raise typer.BadParameter("write --format csv, or leave it out")
    if benchmark is None and (as_csv or since or until or known_at is not None):
        raise typer.BadParameter("name the BENCHMARK whose values are meant")
    if output is not None and not as_csv:
        raise typer.BadParameter("--output is for --format csv")
    with common.asking(ctx, url, timeout) as client:
        if benchmark is None:
            listed = client.benchmarks.list()
            if json_:
                _print_json(listed)
            else:
                _print_all(common.out(), listed)
            return
        known = common.revision_or_instant(known_at)
        if as_csv:
            file = client.benchmarks.csv(benchmark, from_=since, to=until, known_at=known)
        else:
            found = client.benchmarks.get(benchmark, from_=since, to=until, known_at=known)
    if as_csv:
        write(ctx, file.content, output, f"{benchmark} as known at ledger revision {file.known_at}")
    elif json_:
        common.print_json(found.raw)
    else:
        _print_one(common.out(), found)


def measure(found: Benchmark) -> str:
    """What its values are in."""
    return "points" if found.currency is None else f"{found.currency}/{found.unit}"


def _print_json(listed: tuple[Benchmark, ...]) -> None:
    import json

    told = {"benchmarks": [one.model_dump(mode="json") for one in listed]}
    common.print_json(json.dumps(told, ensure_ascii=False).encode())


def _print_all(console: Console, listed: tuple[Benchmark, ...]) -> None:
    from rich.table import Table

    from gradewright_sdk.cli._show import say

    if not listed:
        console.print(say("There are no benchmarks yet: nothing moves, prices stand as they were seen."))
        return
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False)
    for title in ("Slug", "Name", "In", "Days", "Newest value", "Of"):
        table.add_column(title, overflow="fold", no_wrap=title != "Name")
    for one in listed:
        last = ("-", "-") if one.last is None else (f"{one.last.value:f}", str(one.last.date))
        cells = (one.slug, one.name, measure(one), str(one.days), *last)
        table.add_row(*(say(cell) for cell in cells))
    console.print(table)


def _print_one(console: Console, found: BenchmarkValues) -> None:
    from rich.table import Table

    from gradewright_sdk.cli._show import say, sparkline

    console.print(say(f"{found.name} ({found.slug}), {measure(found)}", "bold"))
    console.print(say(found.source, "dim"))
    if not found.values:
        console.print(say("It has no values in that span.", "yellow"))
    else:
        shown = [value.value for value in found.values][-max(console.width - 40, 10) :]
        bars = sparkline(list(shown), plain=not console.encoding.startswith("utf"))
        console.print(say(f"{bars}  {min(shown):f} to {max(shown):f}"))
        if len(found.values) > MOST_SHOWN:
            before = len(found.values) - MOST_SHOWN
            console.print(say(f"{before} earlier values are left out; --format csv has them all.", "dim"))
        table = Table("Day", "Value", box=None, padding=(0, 2, 0, 0), pad_edge=False)
        for value in found.values[-MOST_SHOWN:]:
            table.add_row(say(value.date), say(f"{value.value:f}"))
        console.print(table)
    console.print(say(f"Known at ledger revision {found.known_at}.", "dim"))
