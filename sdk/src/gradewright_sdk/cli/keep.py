"""gradewright-client keep: add values to a benchmark, or make it first."""

from __future__ import annotations

import sys
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from gradewright_sdk import _exceptions as ex
from gradewright_sdk.cli import _common as common
from gradewright_sdk.cli._failures import Exit, Failure, fail, unreadable
from gradewright_sdk.cli._lines import explain

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk import Client
    from gradewright_sdk._models import Benchmark, BenchmarkImport

NOTHING = "Nothing was stored."
NO_BENCHMARK = "Nothing was stored, and no benchmark was made."
HELP = f"""Add the values in FILE (- for standard input) to a benchmark; --dry-run shows what would change.

FILE is CSV, whose first line names the columns, or JSON Lines with the same names: date and value, and
perhaps currency and unit, which have to be the benchmark's. At most 10,000 lines, all of them or none. What
has the same value already changes nothing, so that a whole file can be sent again with what is new.

With --source (and --name) the benchmark is made first, in --currency per --unit, or an --index: with its
values, or where anything is wrong not at all. A value half as much again as its neighbour, or two thirds of
it, is refused unless --far-off says that it is meant.

Needs a maintainer's key in GRADEWRIGHT_KEY.

{common.EXIT_CODES}
"""


def keep(
    ctx: typer.Context,
    benchmark: Annotated[str, typer.Argument(metavar="BENCHMARK", help="Its slug.", show_default=False)],
    file: Annotated[str, typer.Argument(metavar="FILE", help="The values, or -.", show_default=False)],
    *,
    name: Annotated[
        str | None, typer.Option("--name", help="Make it: what it is called.", show_default=False)
    ] = None,
    currency: Annotated[
        str | None, typer.Option("--currency", help="Make it: in this currency.", show_default=False)
    ] = None,
    unit: Annotated[
        str | None, typer.Option("--unit", help="Make it: per this unit of mass.", show_default=False)
    ] = None,
    index: Annotated[
        bool, typer.Option("--index", help="Make it: an index, in neither currency nor unit.")
    ] = False,
    source: Annotated[
        str | None,
        typer.Option("--source", help="Make it: where its values are from, which terms.", show_default=False),
    ] = None,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Store nothing; show what would change.")
    ] = False,
    far_off: Annotated[
        bool, typer.Option("--far-off", help="Values far off the ones before them are meant.")
    ] = False,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    _check_new(source, index=index, rest=(name, currency, unit))
    try:
        content = sys.stdin.buffer.read() if file == "-" else Path(file).read_bytes()
    except OSError as error:
        fail(ctx, unreadable(file, error))
    format_ = {".jsonl": "jsonl", ".ndjson": "jsonl", ".csv": "csv"}.get(Path(file).suffix.casefold())
    new = source is not None
    with common.asking(ctx, url, timeout) as client:
        add = partial(
            client.benchmarks.add_values, benchmark, content, dry_run=dry_run, far_off=far_off, format=format_
        )
        there = None
        try:
            try:
                called, code = (name or benchmark) if new else None, currency and currency.upper()
                found = add(name=called, source=source, currency=code, unit=unit)
            except ex.Conflict:
                there = _there(ctx, client, benchmark, currency, unit) if new else None
                if there is None:
                    raise
                found = add()
        except ex.InvalidRequest as error:
            explain(ctx, error, file, NO_BENCHMARK if new and there is None else NOTHING)
    if json_:
        common.print_json(found.raw)
        return
    if new:
        print(_made(found, measure_of(currency, unit)) if there is None else _was_there(there, name))
    _print(common.out(), found)


def _check_new(source: str | None, *, index: bool, rest: tuple[str | None, str | None, str | None]) -> None:
    """What is said of a benchmark to be made goes together."""
    _, currency, unit = rest
    if source is None:
        if index or any(rest):
            raise typer.BadParameter("give --source too: where the values are from")
        return
    if (currency is None) != (unit is None) or index == (currency is not None):
        raise typer.BadParameter("say what its values are in: --currency and --unit, or --index for neither")


def _there(
    ctx: typer.Context, client: Client, slug: str, currency: str | None, unit: str | None
) -> Benchmark | None:
    """The benchmark that is there already; None where there is none. Ends the command where it is in
    something else than what is said.
    """
    there = next((one for one in client.benchmarks.list() if one.slug == slug), None)
    if there is not None and (there.currency, there.unit) != (currency and currency.upper(), unit):
        says = (
            f"The benchmark {slug} is there already, in {measure_of(there.currency, there.unit)}, not in "
            f"{measure_of(currency, unit)}. To add to it leave --source and the rest out; another one needs "
            f"another slug. {NOTHING}"
        )
        fail(ctx, Failure("conflict", "Already there", (says,), Exit.REFUSED))
    return there


def measure_of(currency: str | None, unit: str | None) -> str:
    """What values are in."""
    return "points" if currency is None else f"{currency.upper()}/{unit}"


def _made(found: BenchmarkImport, measured: str) -> str:
    done = "Would make" if found.dry_run else "Made"
    return f"{done} the benchmark {found.benchmark}, in {measured}."


def _was_there(there: Benchmark, name: str | None) -> str:
    says = f"The benchmark {there.slug} was there already, in {measure_of(there.currency, there.unit)}"
    if name is None or name == there.name:
        return f"{says}."
    return f"{says}. It is called {there.name!r} and stays so: what --name says was not stored."


def _print(console: Console, found: BenchmarkImport) -> None:
    from rich.table import Table

    from gradewright_sdk.cli._show import say

    if found.changes:
        table = Table("Line", "Day", "Value", "Before", box=None, padding=(0, 2, 0, 0), pad_edge=False)
        for change in found.changes:
            before = "new" if change.before is None else f"{change.before:f}"
            table.add_row(str(change.line), str(change.date), f"{change.value:f}", before)
        console.print(table)
    console.print(say(f"{found.new} new, {found.changed} changed, {found.same} the same."))
    if found.revision is not None:
        outcome = f"Stored, ledger revision {found.revision}."
    elif found.dry_run:
        outcome = "This was a dry run: nothing was stored."
    else:
        outcome = "There is nothing new in it: nothing was stored."
    console.print(say(outcome, "bold"))
