"""gradewright-client post: post prices seen at a yard."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from gradewright_sdk import _exceptions as ex
from gradewright_sdk._exceptions import sentence
from gradewright_sdk.cli import _common as common
from gradewright_sdk.cli._failures import Exit, Failure, Json, fail, faulty_file, unreadable, wrong_usage
from gradewright_sdk.cli._files import pointer_steps, without_name

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk._models import Posting
    from gradewright_sdk.cli._seen import SeenFile

NOTHING = "Nothing was posted."
HELP = f"""Post prices seen at one yard on one day: from FILE (- for standard input), or with --price.

FILE is CSV with the columns grade or label (the yard's own word), price, currency, per, and from_weight
where a price holds from a weight on. --price takes one price and can be repeated: --price "copper-no2 3.35
USD/lb from 100 lb"; a label stands in quotes of its own: --price '"#2 Cu" 3.35 USD/lb'.

Needs a member's key in GRADEWRIGHT_KEY. All prices are stored, or none.

{common.EXIT_CODES}
"""


def post(
    ctx: typer.Context,
    file: Annotated[
        str | None, typer.Argument(metavar="[FILE]", help="A file of prices, or -.", show_default=False)
    ] = None,
    *,
    yard: Annotated[str, typer.Option("--yard", help="The yard they were seen at.", show_default=False)],
    observed_on: Annotated[
        str, typer.Option("--observed-on", help="The day they were seen, YYYY-MM-DD.", show_default=False)
    ],
    evidence: Annotated[
        str, typer.Option("--evidence", help="ticket, written-list, sign or told.", show_default=False)
    ],
    price: Annotated[
        list[str] | None,
        typer.Option("--price", help="GRADE PRICE CURRENCY/UNIT [from WEIGHT]", show_default=False),
    ] = None,
    note: Annotated[str | None, typer.Option("--note", help="A word about it.", show_default=False)] = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    if (file is None) == (not price):
        raise typer.BadParameter("give a FILE of prices or --price, one of them")
    found = _from_file(ctx, file) if file is not None else _from_options(ctx, price or [])
    with common.asking(ctx, url, timeout) as client:
        try:
            posting = client.postings.create(
                yard, observed_on=observed_on, evidence=evidence, prices=found.prices, note=note
            )
        except ex.InvalidRequest as error:
            _explain(ctx, error, file, found)
        except ex.NotFound as error:
            _explain(ctx, error, file, found)
    if json_:
        common.print_json(posting.raw)
    else:
        _print(common.out(), posting)


def _from_file(ctx: typer.Context, file: str) -> SeenFile:
    from gradewright_sdk.cli._files import FileFaults
    from gradewright_sdk.cli._seen import read_seen

    try:
        data = sys.stdin.buffer.read() if file == "-" else Path(file).read_bytes()
        return read_seen(data)
    except OSError as error:
        fail(ctx, unreadable(file, error))
    except FileFaults as error:
        fail(ctx, faulty_file(file, error, None, NOTHING))


def _from_options(ctx: typer.Context, texts: list[str]) -> SeenFile:
    from gradewright_sdk.cli._seen import SeenFile, seen
    from gradewright_sdk.cli._values import BadValue

    try:
        return SeenFile(tuple(seen(text) for text in texts), tuple(range(1, len(texts) + 1)))
    except BadValue as error:
        fail(ctx, wrong_usage(sentence(error.says, error.suggestions)))


def _explain(ctx: typer.Context, error: ex.APIError, file: str | None, found: SeenFile) -> None:
    """End with the fault at the line of the file, or at the --price, that it is about; else raise it on."""
    lines: list[str] = []
    errors: list[Json] = []
    for fault in error.errors:
        steps = pointer_steps(fault.pointer)
        if steps[:2] != ["#", "prices"] or not steps[2:] or not steps[2].isdigit():
            raise error
        index = int(steps[2])
        if index >= len(found.lines):
            raise error
        place = f"{file}: line {found.lines[index]}" if file is not None else f"--price number {index + 1}"
        place += f", {steps[3]}" if steps[3:] else ""
        says = without_name(fault.detail, steps[-1])
        lines.append(f"{place}: {sentence(says, fault.suggestions)}")
        errors.append({"place": place, "detail": says, "suggestions": list(fault.suggestions)})
    if not lines:
        raise error
    more = {"status": error.status, "request_id": error.request_id}
    lines.append(NOTHING)
    fail(ctx, Failure(error.type, error.title, tuple(lines), Exit.REFUSED, tuple(errors), more))


def _print(console: Console, posting: Posting) -> None:
    from rich.table import Table

    from gradewright_sdk.cli._show import number, say

    console.print(
        say(f"Stored as {posting.id}, ledger revision {posting.revision}, posted by {posting.author}", "bold")
    )
    console.print(say(f"{posting.yard}, seen on {posting.observed_on}, evidence: {posting.evidence}"))
    if posting.note:
        console.print(say(posting.note))
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False)
    table.add_column("Grade", overflow="fold")
    table.add_column("As the yard says", overflow="fold")
    table.add_column("Price", justify="right", no_wrap=True)
    table.add_column("Per")
    table.add_column("From")
    for one in posting.prices:
        table.add_row(
            say(one.grade),
            say(one.label or "-"),
            f"{number(one.price)} {one.currency}",
            say(one.per),
            say(one.from_weight or "-"),
        )
    console.print(table)
