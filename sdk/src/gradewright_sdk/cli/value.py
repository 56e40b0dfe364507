"""gradewright-client value: what the parts in a file are worth."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from gradewright_sdk.cli import _common as common
from gradewright_sdk.cli._failures import Exit, err, fail, faulty_file, unreadable

if TYPE_CHECKING:
    from gradewright_sdk._client import Client
    from gradewright_sdk._models import Rulebook, Valuation
    from gradewright_sdk.cli._chunks import Asked
    from gradewright_sdk.cli._parts import PartsFile

HELP = f"""Value the parts in FILE (- for standard input): CSV or JSON Lines.

CSV: the first line names the columns. They are name, count, weight (of all pieces together) or
weight_each, and grade (a slug or an alias; `gradewright-client grades` lists them); every other column is an
observation, named by its attribute (metal, form, thickness, …; `gradewright-client attributes` lists them).
Weights and measures have their unit: 2 lb 3 oz, 1.2 kg, 6.35 mm, 5 %. Blank means not known; yes or no for
yes/no attributes. A part has a grade, or observations.

JSON Lines: one object a line, with name, count, weight or weight_each, and grade or observed.

Spreadsheets' own files are read too: semicolons or tabs, a first line sep=;, spare columns at the end.

Every fault is told with its line, those of the file and those that the service finds, and nothing is valued
until there is none.

More than 1000 parts are sent in several lists that rest on the same rulebook and the same revision, and added
up. --json then prints one document of the service's shape for all of them, which has no SHA-256 of its own:
pins.sha256 is null, totals.cash too, and chunks names the parts, sha256 and id (where kept) of each list. A
better price from a weight on counts the pile within each list only.

{common.EXIT_CODES}
"""


def value(
    ctx: typer.Context,
    file: Annotated[str, typer.Argument(metavar="FILE", help="The file of parts, or -.", show_default=False)],
    *,
    region: common.RegionOption = None,
    yard: common.YardOption = None,
    on: common.OnOption = None,
    known_at: common.KnownAtOption = None,
    rulebook: Annotated[
        str | None, typer.Option("--rulebook", help="By this rulebook version.", show_default=False)
    ] = None,
    keep: Annotated[
        bool, typer.Option("--keep", help="Let the service keep the valuation; says its id.")
    ] = False,
    id_to: common.IdToOption = None,
    hour_rate: Annotated[
        str | None,
        typer.Option(
            "--hour-rate",
            help="What an hour of yours is worth: no test that costs more than it can add.",
            show_default=False,
        ),
    ] = None,
    kind: Annotated[
        str | None, typer.Option("--format", help="csv or jsonl; told by the file's name if left out.")
    ] = None,
    strict: Annotated[
        bool, typer.Option("--strict", help="End with 3 if the valuation is incomplete.")
    ] = False,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    place = common.one_place(region, yard)
    if kind not in {None, "csv", "jsonl"}:
        raise typer.BadParameter("--format is csv or jsonl")
    data = _read(ctx, file)
    from gradewright_sdk.cli._chunks import Asked
    from gradewright_sdk.cli._files import FileFaults
    from gradewright_sdk.cli._parts import guess_kind, read_parts

    keep = keep or id_to is not None
    asked = Asked(place, on, common.revision_or_instant(known_at), rulebook, keep, hour_rate)
    with common.asking(ctx, url, timeout) as client:
        book = client.rulebooks.get(rulebook) if rulebook else client.rulebooks.in_force(on=on)
        try:
            parts = read_parts(data, book, kind=kind or guess_kind(file, data))
            valuations = _send(client, parts, asked)
        except FileFaults as error:
            kept_from = error.unchecked
            unchecked = None if kept_from is None else common.failure(ctx, kept_from, client)
            fail(ctx, faulty_file(file, error, unchecked, "Nothing was valued."))
        common.write_ids(ctx, [valuation.id for valuation in valuations], id_to)
        _print(valuations, book, as_json=json_)
    if strict and not all(valuation.complete for valuation in valuations):
        raise typer.Exit(Exit.INCOMPLETE)


def _read(ctx: typer.Context, file: str) -> bytes:
    if file == "-":
        return sys.stdin.buffer.read()
    try:
        return Path(file).read_bytes()
    except OSError as error:
        fail(ctx, unreadable(file, error))


def _send(client: Client, parts: PartsFile, asked: Asked) -> tuple[Valuation, ...]:
    from gradewright_sdk.cli._chunks import CHUNK, value_file

    with _progress(len(parts.parts), shown=len(parts.parts) > CHUNK) as done:
        return value_file(client, parts, asked, done)


@contextmanager
def _progress(total: int, *, shown: bool) -> Iterator[Callable[[int], None]]:
    """A bar on standard error for long lists, where that is a terminal."""
    if not shown:
        yield lambda sent: None
        return
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    console = err()
    columns = (TextColumn("parts valued"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*columns, console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task("", total=total)
        yield lambda sent: bar.update(task, completed=sent)


def _print(valuations: Sequence[Valuation], book: Rulebook, *, as_json: bool) -> None:
    from gradewright_sdk.cli._chunks import together

    raw = together(valuations)
    kept = [valuation.id for valuation in valuations if valuation.id is not None]
    if as_json:
        common.print_kept(raw, *kept)
        return
    from gradewright_sdk._models import Valuation as Joined
    from gradewright_sdk.cli._valuation import Report

    whole = valuations[0] if len(valuations) == 1 else Joined.model_validate(json.loads(raw))
    Report(whole, book, kept, len(valuations)).print(common.out())
