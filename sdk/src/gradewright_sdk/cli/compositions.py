"""gradewright-client compositions: what kinds of device are made of."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from gradewright_sdk.cli import _common as common

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk._models import Composition, DeviceKind, DeviceKindCorrected, DeviceRecords

HELP = f"""List the kinds of device of which something is known, or show what one usually consists of.

For a device of --weight its parts are scaled to that; without, they are as recorded. Each figure is low,
likely and high: the quartiles and the median of what people found, or the extremes where those are few.
--records shows what was recorded, newest first. `gradewright-client record` adds to it.

Maintainers tell a kind otherwise with --correct REASON: its --name, and --sold-as GRADE or --not-sold-whole;
what is not given stays. Needs a maintainer's key in GRADEWRIGHT_KEY.

{common.EXIT_CODES}
"""


def compositions(
    ctx: typer.Context,
    kind: Annotated[
        str | None, typer.Argument(metavar="KIND", help="One of them, by its slug.", show_default=False)
    ] = None,
    *,
    weight: Annotated[
        str | None, typer.Option("--weight", help='Of the device in question, "70 kg".', show_default=False)
    ] = None,
    on: common.OnOption = None,
    known_at: common.KnownAtOption = None,
    records: Annotated[bool, typer.Option("--records", help="What was recorded, one by one.")] = False,
    correct: Annotated[
        str | None, typer.Option("--correct", help="Tell the kind otherwise, and why.", show_default=False)
    ] = None,
    name: Annotated[
        str | None, typer.Option("--name", help="What it is called, for people.", show_default=False)
    ] = None,
    sold_as: Annotated[
        str | None, typer.Option("--sold-as", help="In which grade it is sold whole.", show_default=False)
    ] = None,
    not_sold_whole: Annotated[bool, typer.Option("--not-sold-whole", help="In no grade.")] = False,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    otherwise = bool(name or sold_as or not_sold_whole)
    if otherwise != (correct is not None) or (sold_as and not_sold_whole):
        raise typer.BadParameter("--correct REASON goes with --name, --sold-as or --not-sold-whole")
    if correct is not None and (kind is None or weight or on or records or known_at):
        raise typer.BadParameter("--correct is said of a KIND, as of now: leave the other options out")
    if kind is None and (weight or on or records):
        raise typer.BadParameter("name the KIND of device that is meant")
    if records and (weight or on):
        raise typer.BadParameter("--records shows all of them as they are: leave --weight and --on out")
    known = common.revision_or_instant(known_at)
    with common.asking(ctx, url, timeout) as client:
        if kind is None:
            listed = client.compositions.kinds(known_at=known)
            if json_:
                _print_json(listed)
            else:
                _print_kinds(common.out(), listed)
        elif correct is not None:
            was = client.compositions.get(kind)
            grade = None if not_sold_whole else sold_as or was.grade
            told = client.compositions.correct(kind, name=name or was.name, grade=grade, reason=correct)
            common.print_json(told.raw) if json_ else _print_told(common.out(), told)
        elif records:
            page = client.compositions.records(kind, known_at=known)
            common.print_json(page.raw) if json_ else _print_records(common.out(), page)
        else:
            found = client.compositions.get(kind, weight=weight, on=on, known_at=known)
            common.print_json(found.raw) if json_ else _print_one(common.out(), found)


def _print_json(listed: tuple[DeviceKind, ...]) -> None:
    import json

    told = {"kinds": [one.model_dump(mode="json") for one in listed]}
    common.print_json(json.dumps(told, ensure_ascii=False).encode())


def _print_kinds(console: Console, listed: tuple[DeviceKind, ...]) -> None:
    from gradewright_sdk.cli._composed import kinds

    for line in kinds(listed):
        console.print(line)


def _print_one(console: Console, found: Composition) -> None:
    from gradewright_sdk.cli._composed import one

    for line in one(found):
        console.print(line)


def _print_told(console: Console, told: DeviceKindCorrected) -> None:
    from gradewright_sdk.cli._show import say

    whole = f"sold whole as {told.grade}" if told.grade else "sold whole in no grade"
    console.print(say(f"{told.kind} is {told.name}, {whole}, from ledger revision {told.revision} on."))


def _print_records(console: Console, page: DeviceRecords) -> None:
    from gradewright_sdk.cli._show import say

    for one in page.records:
        minutes = f", {one.minutes:f} minutes" if one.minutes is not None else ""
        head = f"{one.on}  {one.author or one.source or '-'}  {one.weight or '-'}{minutes}  {one.id}"
        console.print(say(head, "strike" if one.withdrawn else "bold"))
        parts = (f"{part.grade} {part.weight or part.share}" for part in one.parts)
        console.print(say("  " + ", ".join(parts)))
        for note in (one.note, one.withdrawn and f"taken back: {one.withdrawn.reason}"):
            if note:
                console.print(say(f"  {note}", "dim"))
    if page.next:
        console.print(say("There are older ones: the SDK's client.compositions.records pages on.", "dim"))
