"""gradewright-client follow: every entry of the ledger as it is written."""

from __future__ import annotations

import re
import sys
from typing import Annotated

import typer

from gradewright_sdk import _exceptions as ex
from gradewright_sdk.cli import _common as common

FOLLOW_HELP = f"""Print each entry of the ledger as it is written, one on a line, until stopped (Ctrl-C).

A service that restarts, or cannot be reached for a while, is waited for; nothing is lost and nothing comes
twice. Entries are what was said, not what counts: prices that wait, or are taken back later, come too. With
--json each line is the entry in its canonical form: the bytes whose hash is its leaf.

{common.EXIT_CODES}
"""


def follow(
    ctx: typer.Context,
    *,
    after: Annotated[
        str | None,
        typer.Option(
            "--after",
            help="First what came after this revision, or after this line of it (312.5); 0: everything. "
            "Without it only what is written from now on.",
            show_default=False,
        ),
    ] = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    if after is not None and not re.fullmatch(r"[0-9]+(\.[0-9]+)?", after, re.ASCII):
        raise typer.BadParameter("--after is a revision such as 312, or one of its lines such as 312.5")
    from gradewright_sdk.cli._entries import in_a_line

    told = _Trouble()
    try:
        with common.asking(ctx, url, timeout) as client:
            for entry in client.ledger.follow(after=after, on_trouble=told):
                told.over()
                sys.stdout.write((entry.raw.decode() if json_ else in_a_line(entry)) + "\n")
                sys.stdout.flush()
    except KeyboardInterrupt:
        return


class _Trouble:
    """Says once on standard error that the service cannot be reached, and once that it can be again."""

    def __init__(self) -> None:
        self._there = True

    def __call__(self, error: ex.GradewrightError) -> None:
        if self._there:
            self._there = False
            happened = getattr(error, "happened", None) or str(error)
            sys.stderr.write(f"{happened} Waiting for it.\n")
            sys.stderr.flush()

    def over(self) -> None:
        """An entry has come."""
        if not self._there:
            self._there = True
            sys.stderr.write("It is there again.\n")
            sys.stderr.flush()
