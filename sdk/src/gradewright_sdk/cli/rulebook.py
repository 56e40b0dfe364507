"""gradewright-client rulebook: the rules that parts are graded by, as a page to print."""

from __future__ import annotations

from typing import Annotated

import typer

from gradewright_sdk.cli import _common as common
from gradewright_sdk.cli._written import write

HELP = f"""Write a version of the grading rulebook as one page of HTML, to read on a phone or to print.

It has the cautions, the grades with what tells them apart, how to look at a part, limits with their sources,
preparations, how prices come about, and what each version has changed.

{common.EXIT_CODES}
"""


def rulebook(
    ctx: typer.Context,
    version: Annotated[
        str | None,
        typer.Argument(metavar="VERSION", help="Which version (the one in force today).", show_default=False),
    ] = None,
    *,
    on: common.OnOption = None,
    output: Annotated[
        str | None,
        typer.Option("--output", "-o", help="The file to write (standard output).", show_default=False),
    ] = None,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    if version is not None and on is not None:
        raise typer.BadParameter("name a version, or the day on which it was in force, not both")
    with common.asking(ctx, url, timeout) as client:
        named = version or client.rulebooks.in_force(on=on).version
        page = client.rulebooks.page(named)
    write(ctx, page.encode(), output, f"rulebook {named}")
