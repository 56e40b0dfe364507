"""gradewright-client upload: post a yard's whole list, or see what it would change."""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

from gradewright_sdk import _exceptions as ex
from gradewright_sdk.cli import _common as common
from gradewright_sdk.cli._failures import Exit, fail, unreadable
from gradewright_sdk.cli._lines import explain
from gradewright_sdk.cli._posted import too_old

NOTHING = "Nothing was posted."
HELP = f"""Post a yard's whole list from FILE (- for standard input), or see with --dry-run what it changes.

FILE is CSV, whose first line names the columns, or JSON Lines with the same names: label (the yard's own
word) or grade or both, price; and currency, per and from_weight where they differ from the yard's terms.
At most 10,000 lines, stored as one posting: all of them, or none. What the list lacks stays as it was posted.

--dry-run tells line by line what is new, raised, lowered, gone, refused or unknown against the newest list;
what stays the same is counted, and listed with --all. Of a price that is far off what others are paid it is
told, then and when the list is stored, that it waits, with its figures; and of one that counts, that it is
five times what the list had for it before, or a fifth of it. A dry run ends with 1 where the list cannot be
stored.

Needs a member's key in GRADEWRIGHT_KEY.

{common.EXIT_CODES}
"""


def upload(
    ctx: typer.Context,
    file: Annotated[str, typer.Argument(metavar="FILE", help="The list, or -.", show_default=False)],
    *,
    yard: Annotated[str, typer.Option("--yard", help="The yard whose list it is.", show_default=False)],
    observed_on: common.ObservedOnOption = None,
    evidence: Annotated[
        str, typer.Option("--evidence", help="ticket, written-list, sign or told.")
    ] = "written-list",
    note: Annotated[str | None, typer.Option("--note", help="A word about it.", show_default=False)] = None,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Store nothing; show what would change.")
    ] = False,
    all_: Annotated[bool, typer.Option("--all", help="List what stays the same too.")] = False,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    try:
        content = sys.stdin.buffer.read() if file == "-" else Path(file).read_bytes()
    except OSError as error:
        fail(ctx, unreadable(file, error))
    format_ = {".jsonl": "jsonl", ".ndjson": "jsonl", ".csv": "csv"}.get(Path(file).suffix.casefold())
    with common.asking(ctx, url, timeout) as client:
        try:
            found = client.lists.upload(
                yard,
                content,
                observed_on=common.seen_on(observed_on),
                evidence=evidence,
                note=note,
                dry_run=dry_run,
                format=format_,
            )
        except (ex.InvalidRequest, ex.NotFound) as error:
            explain(ctx, error, file, NOTHING)
        if json_:
            common.print_json(found.raw)
        else:
            from gradewright_sdk.cli._compared import print_compared
            from gradewright_sdk.cli._list_slips import list_slips
            from gradewright_sdk.cli._show import say

            old = too_old(client, found.observed_on, datetime.now(UTC).date())
            print_compared(common.out(), found, list_slips(client, found, old=old is not None), all_=all_)
            if old is not None:
                common.out().print(say(old, "yellow"))
    if not found.can_be_stored:
        raise typer.Exit(Exit.REFUSED)
