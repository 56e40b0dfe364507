"""What the commands share: options, exit codes, the client, and errors said so that a person can mend
them.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from enum import IntEnum
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer

from gradewright_sdk import _exceptions as ex

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk._client import Client

OpenClient = Callable[[str | None, float], "Client"]
UNWATCHED = 100  # columns, where there is no terminal


class Exit(IntEnum):
    """How a command ends."""

    DONE = 0
    REFUSED = 1
    USAGE = 2
    INCOMPLETE = 3
    NO_ANSWER = 4


EXIT_CODES = (
    "Ends with 0 when done, 1 when the service said no, 2 for wrong usage or a faulty file, "
    "3 when incomplete under --strict, 4 when the service could not be asked."
)

UrlOption = Annotated[
    str | None,
    typer.Option("--url", envvar="GRADEWRIGHT_URL", help="Address of the service.", show_default=False),
]
TimeoutOption = Annotated[
    float,
    typer.Option("--timeout", min=0.001, help="Seconds for each question to the service, retries included."),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON for scripts instead of a table.")]
RegionOption = Annotated[
    str | None, typer.Option("--region", help="Prices of this region, such as XO-KEL.", show_default=False)
]
YardOption = Annotated[str | None, typer.Option("--yard", help="Prices of this yard.", show_default=False)]
OnOption = Annotated[
    str | None, typer.Option("--on", help="As of this day, YYYY-MM-DD (today).", show_default=False)
]
KnownAtOption = Annotated[
    str | None,
    typer.Option(
        "--known-at",
        help="As known at this ledger revision, or at an instant such as 2026-05-04T09:00:00Z (now).",
        show_default=False,
    ),
]


def revision_or_instant(text: str | None) -> int | str | None:
    """A revision as the number it is, an instant as text."""
    return int(text) if text is not None and text.isascii() and text.isdigit() else text


def one_place(region: str | None, yard: str | None, *, needed: bool = True) -> dict[str, str]:
    """The place as arguments of a call; wrong usage if there are two, or none where one is needed."""
    if region and yard:
        raise typer.BadParameter("give --region or --yard, not both: a yard has its own region")
    if needed and not (region or yard):
        raise typer.BadParameter(
            "give --region or --yard: prices are those of a place. `gradewright-client regions` lists them"
        )
    return {"region": region} if region else {"yard": yard} if yard else {}


def out() -> Console:
    """Where answers go: as wide as the terminal, or as COLUMNS says; no colours in a pipe."""
    from rich.console import Console

    return Console(file=sys.stdout, width=_width(), highlight=False, markup=False, emoji=False)


def _width() -> int | None:
    """How wide answers are where nobody can know; None if there is COLUMNS, or a terminal to look at."""
    known = os.environ.get("COLUMNS", "").isdigit() or any(map(os.isatty, (0, 1, 2)))
    return None if known else UNWATCHED


def err() -> Console:
    """Where errors and progress go."""
    from rich.console import Console

    return Console(file=sys.stderr, highlight=False, markup=False, emoji=False)


def print_json(raw: bytes) -> None:
    """Bytes as the service sent them, and a line end."""
    sys.stdout.write(raw.decode("utf-8") + "\n")


def stop(message: str, code: Exit) -> NoReturn:
    """Say what is wrong on standard error and end with `code`."""
    err().print(message, style="bold red" if code is Exit.REFUSED else "", soft_wrap=True)
    raise typer.Exit(code)


@contextmanager
def asking(ctx: typer.Context, url: str | None, timeout: float) -> Iterator[Client]:
    """A client for the length of a command; what goes wrong becomes one message and an exit code."""
    try:
        client = _open(ctx, url, timeout)
    except ValueError as error:
        stop(str(error), Exit.USAGE)
    try:
        with client:
            yield client
    except ex.APIError as error:
        stop(explain(error), Exit.REFUSED)
    except ex.GradewrightError as error:
        stop(str(error), Exit.NO_ANSWER)


def _open(ctx: typer.Context, url: str | None, timeout: float) -> Client:
    if ctx.obj is not None:
        open_client: OpenClient = ctx.obj
        return open_client(url, timeout)
    from gradewright_sdk._client import Client
    from gradewright_sdk._retry import Retry

    return Client(url, timeout=timeout, retry=Retry(times=2))


def explain(error: ex.APIError) -> str:
    """The service's problem, and what to do about it on this command line."""
    match error:
        case ex.Unauthorized():
            hint = "Set GRADEWRIGHT_KEY to a member's key (an operator makes one: `gradewright keys create`)."
        case ex.Forbidden():
            hint = "Your key may not do this; ask a maintainer."
        case ex.UnknownRegion():
            hint = "`gradewright-client regions` lists the regions."
        case ex.UnknownYard():
            hint = "`gradewright-client yards` lists the yards."
        case ex.TooManyRequests():
            hint = (
                f"Try again in {error.retry_after:g} s."
                if error.retry_after
                else "Wait a little and try again."
            )
        case ex.ServerError():
            hint = f"Nothing on your side: tell whoever runs the service the request id {error.request_id}."
        case _:
            hint = ""
    return f"{error}\n{hint}".rstrip()
