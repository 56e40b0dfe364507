"""What the commands share: options, exit codes, the client, and where answers go."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from gradewright_sdk import _exceptions as ex
from gradewright_sdk.cli._failures import Failure, err, fail, no_answer, wrong_usage
from gradewright_sdk.cli._written import unwritable, write_whole

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk._client import Client

OpenClient = Callable[[str | None, float], "Client"]
UNWATCHED = 100  # columns, where there is no terminal


EXIT_CODES = (
    "Ends with 0 when done, 1 when the service said no, 2 for wrong usage or a faulty file, "
    "3 when incomplete under --strict, 4 when the service could not be asked.\n\n"
    "With --json, what went wrong is one JSON object on standard error: type, title, detail and errors, "
    "each with its place. Only a command line that cannot be read is told as text."
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
IdToOption = Annotated[
    str | None,
    typer.Option(
        "--id-to",
        metavar="FILE",
        help="Write the id of what is kept to this file, for scripts; keeps it too.",
        show_default=False,
    ),
]
RegionOption = Annotated[
    str | None, typer.Option("--region", help="Prices of this region, such as XO-KEL.", show_default=False)
]
YardOption = Annotated[str | None, typer.Option("--yard", help="Prices of this yard.", show_default=False)]
WeightOption = Annotated[
    str | None, typer.Option("--weight", help='For a lot of this weight, "150 lb".', show_default=False)
]
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
ObservedOnOption = Annotated[
    str | None,
    typer.Option("--observed-on", help="The day they were seen, YYYY-MM-DD (today).", show_default=False),
]


def seen_on(day: str | None) -> str:
    """The day of what was seen: by the calendar that hangs on the wall here, where none is said."""
    return datetime.now().astimezone().date().isoformat() if day is None else day


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


def print_json(raw: bytes) -> None:
    """Bytes as the service sent them, and a line end."""
    sys.stdout.write(raw.decode("utf-8") + "\n")


def write_ids(ctx: typer.Context, ids: Iterable[str | None], file: str | None) -> None:
    """The ids of what was kept, each on a line of a file, if one is named; a failure tells them."""
    kept = [one for one in ids if one is not None]
    if file is None or not kept:
        return
    try:
        write_whole(Path(file), "".join(f"{one}\n" for one in kept).encode())
    except OSError as error:
        fail(ctx, unwritable(Path(file), error, f"Kept as {', '.join(kept)}, but"))


def print_kept(raw: bytes, *kept: str | None) -> None:
    """An answer as the service sent it, for scripts; as what it was kept is told beside it."""
    print_json(raw)
    for one in kept:
        if one is not None:
            err().print(f"Kept as {one}", soft_wrap=True)


@contextmanager
def asking(ctx: typer.Context, url: str | None, timeout: float, *, kept: bool = False) -> Iterator[Client]:
    """A client for the length of a command; what goes wrong becomes one message and an exit code. `kept`:
    what the service works out it finds, and keeps, whether somebody waits for it or not.
    """
    try:
        client = _open(ctx, url, timeout)
    except ValueError as error:
        fail(ctx, wrong_usage(str(error)))
    with client:
        try:
            yield client
        except ex.GradewrightError as error:
            fail(ctx, failure(ctx, error, client, kept=kept))


def failure(ctx: typer.Context, error: ex.GradewrightError, client: Client, *, kept: bool = False) -> Failure:
    """What went wrong between the client and the service, in the words of the command line."""
    if isinstance(error, ex.APIError):
        from gradewright_sdk.cli._refused import refused

        return refused(ctx, error, client)
    return no_answer(error, kept=kept)


def _open(ctx: typer.Context, url: str | None, timeout: float) -> Client:
    if ctx.obj is not None:
        open_client: OpenClient = ctx.obj
        return open_client(url, timeout)
    from gradewright_sdk._client import Client
    from gradewright_sdk._retry import Retry

    return Client(url, timeout=timeout, retry=Retry(times=2))
