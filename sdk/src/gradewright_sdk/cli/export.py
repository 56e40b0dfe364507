"""gradewright-client export: a yard's list of any day, as a file."""

from __future__ import annotations

from typing import Annotated

import typer

from gradewright_sdk.cli import _common as common
from gradewright_sdk.cli._written import write

HELP = f"""Write a yard's list of a day, as known at a revision, as a file that can be uploaded again.

It has the newest price of each grade and from-weight, as posted, with the yard's own label where it was
given. Uploaded again for the same day, every line stays the same.

{common.EXIT_CODES}
"""


def export(
    ctx: typer.Context,
    *,
    yard: Annotated[str, typer.Option("--yard", help="The yard.", show_default=False)],
    on: common.OnOption = None,
    known_at: common.KnownAtOption = None,
    format_: Annotated[str, typer.Option("--format", help="csv or jsonl (JSON Lines).")] = "csv",
    output: Annotated[
        str | None,
        typer.Option("--output", "-o", help="The file to write (standard output).", show_default=False),
    ] = None,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    if format_ not in ("csv", "jsonl"):
        raise typer.BadParameter("write --format csv or --format jsonl")
    with common.asking(ctx, url, timeout) as client:
        found = client.lists.export(
            yard, on=on, known_at=common.revision_or_instant(known_at), format=format_
        )
    write(ctx, found.content, output, f"the list of {yard} as known at ledger revision {found.known_at}")
