"""gradewright-client record: what came out of a device."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from gradewright_sdk import _exceptions as ex
from gradewright_sdk.cli import _common as common
from gradewright_sdk.cli._failures import fail, faulty_file, unreadable

if TYPE_CHECKING:
    from gradewright_sdk._client import Client
    from gradewright_sdk._models import Composition, CompositionRecorded
    from gradewright_sdk.cli._parts import PartsFile

NOTHING = "Nothing was stored."
HELP = f"""Record what came out of one device of a KIND, so that others know before they open theirs.

FILE has the parts as `gradewright-client value` takes them: CSV or JSON Lines, each with a grade or
observations, and its weight. What is not in it is the device's rest. The first record of a kind makes it:
--new "Treadmill", and --sold-as the grade in which it is usually sold whole.

It tells what the kind has become with it: how many records there are of whom, and which figures moved.

Needs a member's key in GRADEWRIGHT_KEY. --withdraw ID --reason takes a record of your own back.

{common.EXIT_CODES}
"""


def record(
    ctx: typer.Context,
    kind: Annotated[str, typer.Argument(metavar="KIND", help="Its slug, such as treadmill.")],
    file: Annotated[
        str | None, typer.Argument(metavar="FILE", help="The file of parts, or -.", show_default=False)
    ] = None,
    *,
    on: Annotated[
        str | None,
        typer.Option("--on", help="The day it was taken apart, YYYY-MM-DD.", show_default=False),
    ] = None,
    weight: Annotated[
        str | None, typer.Option("--weight", help='Of the whole device, "70 kg".', show_default=False)
    ] = None,
    minutes: Annotated[
        str | None, typer.Option("--minutes", help="Of all the work.", show_default=False)
    ] = None,
    made_year: Annotated[
        int | None, typer.Option("--made", help="The year it was made in.", show_default=False)
    ] = None,
    model: Annotated[
        str | None, typer.Option("--model", help="What helps to know the like again.", show_default=False)
    ] = None,
    source: Annotated[
        str | None,
        typer.Option("--source", help="A publication, if it is not your own work.", show_default=False),
    ] = None,
    note: Annotated[str | None, typer.Option("--note", help="A word about it.", show_default=False)] = None,
    new: Annotated[
        str | None, typer.Option("--new", help="The name of a new kind, for people.", show_default=False)
    ] = None,
    sold_as: Annotated[
        str | None, typer.Option("--sold-as", help="The grade of a new kind, whole.", show_default=False)
    ] = None,
    withdraw: Annotated[
        str | None, typer.Option("--withdraw", help="The id of a record to take back.", show_default=False)
    ] = None,
    reason: Annotated[
        str | None, typer.Option("--reason", help="Why it is taken back.", show_default=False)
    ] = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    if withdraw is not None:
        if reason is None or file is not None:
            raise typer.BadParameter("--withdraw takes --reason, and no FILE")
        with common.asking(ctx, url, timeout) as client:
            gone = client.compositions.withdraw(kind, withdraw, reason=reason)
        _tell(gone.raw, f"{gone.id} counts no more, from ledger revision {gone.revision} on.", as_json=json_)
        return
    if file is None or on is None:
        raise typer.BadParameter("give the FILE of parts, and --on the day it was taken apart")
    if sold_as is not None and new is None:
        raise typer.BadParameter("--sold-as is said of a --new kind")
    data = _read(ctx, file)
    kind_made = {"name": new, **({"grade": sold_as} if sold_as else {})} if new else None
    from gradewright_sdk.cli._files import FileFaults
    from gradewright_sdk.cli._parts import guess_kind, read_parts
    from gradewright_sdk.cli._refused import places_are

    with common.asking(ctx, url, timeout) as client:
        try:
            parts = read_parts(data, client.rulebooks.in_force(), kind=guess_kind(file, data))
            if parts.faults:
                raise FileFaults(parts.faults)
            places_are(ctx, partial(_place, file, parts))
            try:
                stored = client.compositions.record(
                    kind,
                    parts.parts,
                    on=on,
                    weight=weight,
                    minutes=minutes,
                    made_year=made_year,
                    model=model,
                    source=source,
                    note=note,
                    new_kind=kind_made,
                )
            except (ex.InvalidRequest, ex.NotFound) as error:
                _in_file(error, parts)
                raise
        except FileFaults as error:
            fail(ctx, faulty_file(file, error, None, NOTHING))
        _tell(stored.raw, f"Stored as {stored.id}, ledger revision {stored.revision}.", as_json=json_)
        if not json_:
            _tell_more(client, stored)


def _tell_more(client: Client, stored: CompositionRecorded) -> None:
    """What the kind has become. The record is stored whatever comes of asking: that is never an error."""
    from gradewright_sdk.cli._composed import moved
    from gradewright_sdk.cli._show import say

    console = common.out()
    for sentence in stored.unusual:
        console.print(say(sentence, "bold yellow"))
    if stored.unusual:
        back = f"`gradewright-client record {stored.kind} --withdraw {stored.id} --reason …` takes it back."
        console.print(say(back, "yellow"))
    before: Composition | None = None
    try:
        now = client.compositions.get(stored.kind, known_at=stored.revision)
        try:
            before = client.compositions.get(stored.kind, known_at=stored.revision - 1)
        except ex.UnknownDeviceKind:
            before = None  # it came with this record
    except ex.GradewrightError:
        console.print(say("What its kind has become with it could not be asked.", "yellow"))
        return
    for line in moved(before, now):
        console.print(line)


def _place(file: str, parts: PartsFile, steps: Sequence[str]) -> str | None:
    """Where a fault of the request stands: in the file, or at an option."""
    from gradewright_sdk.cli._files import at

    match steps:
        case ["parts"]:
            return file
        case ["parts", number, *rest] if number.isdigit() and int(number) < len(parts.lines):
            return at(f"{file}: line {parts.lines[int(number)]}", rest)
        case ["new_kind", "grade"]:
            return "--sold-as"
        case ["new_kind", *_]:
            return "--new"
        case ["made_year"]:
            return "--made"
    return None


def _in_file(error: ex.APIError, parts: PartsFile) -> None:
    """Raises FileFaults where everything that the service refuses stands in the file."""
    from gradewright_sdk.cli._files import FileFaults

    found = [place for fault in error.errors if (place := parts.locate(fault)) is not None]
    if found and len(found) == len(error.errors):
        raise FileFaults(found) from error


def _tell(raw: bytes, says: str, *, as_json: bool) -> None:
    if as_json:
        common.print_json(raw)
        return
    from gradewright_sdk.cli._show import say

    common.out().print(say(says))


def _read(ctx: typer.Context, file: str) -> bytes:
    if file == "-":
        return sys.stdin.buffer.read()
    try:
        return Path(file).read_bytes()
    except OSError as error:
        fail(ctx, unreadable(file, error))
