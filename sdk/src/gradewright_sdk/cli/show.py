"""gradewright-client show, replay: a kept answer told again, and worked out again."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, cast

import typer

from gradewright_sdk.cli import _common as common
from gradewright_sdk.cli._failures import Exit, Failure, fail, unreadable

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk._client import Client
    from gradewright_sdk._models import Haul, Recovery, Settlement, Teardown, Valuation
    from gradewright_sdk._models._kept import Kept

KINDS = {
    "v": ("valuations", "valuation"),
    "t": ("teardowns", "teardown"),
    "h": ("hauls", "haul"),
    "s": ("settlements", "settlement"),
    "r": ("recoveries", "recovery"),
}
"""By how an id begins: where the client has such answers, and what one is called."""
POSTING = "p-"
ELSEWHERE = {
    "c": "a record of a device, which `gradewright-client compositions KIND --records` shows",
    "d": "a draft, which `gradewright-client drafts show` shows",
    "p": "a posting, which rests on nothing; `gradewright-client show` shows it",
}
KEPT = """An answer is kept by --keep or --id-to; its id begins with v- (value), t- (teardown), h- (haul), s-
(settle) or r- (recovery). A settlement needs the key of who kept it in GRADEWRIGHT_KEY."""
SHOW_HELP = f"""Show kept answers as they were told when they were made; or postings, as they stand today.

{KEPT} That of a posting begins with p-: its lines are shown, what counts of them, and who
said what of them later; what waits with its figures where the key is its author's, a maintainer's or of
somebody who has confirmed or disputed it. --on shows how they stand in the lists of another day: what is too
old for today may count there, or wait.

--json prints each as the service sent it, one a line.

{common.EXIT_CODES}
"""
REPLAY_HELP = f"""Work kept answers out again from what they rest on, and tell whether every byte is the same.

{KEPT} Ends with 1 where one is not the same.

{common.EXIT_CODES}
"""

IdsArgument = Annotated[
    list[str] | None, typer.Argument(metavar="ID", help="Such as h-1f2e….", show_default=False)
]
IdFromOption = Annotated[
    str | None,
    typer.Option(
        "--id-from", metavar="FILE", help="Also those in a file that --id-to wrote.", show_default=False
    ),
]
DayOption = Annotated[
    str | None,
    typer.Option("--on", help="How a posting stands on this day, YYYY-MM-DD (today).", show_default=False),
]


def show(
    ctx: typer.Context,
    ids: IdsArgument = None,
    *,
    id_from: IdFromOption = None,
    on: DayOption = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    wanted = _wanted(ctx, ids, id_from, also=(POSTING,))
    if on is not None and not all(one.startswith(POSTING) for one in wanted):
        raise typer.BadParameter("--on is for postings: a kept answer is of the day that it was asked for")
    with common.asking(ctx, url, timeout) as client:
        for number, one in enumerate(wanted):
            if number and not json_:
                print()
            if one.startswith(POSTING):
                _show_posting(client, one, on, json_=json_)
                continue
            found = _fetch(client, one)
            if json_:
                common.print_json(found.raw)
                continue
            _print(common.out(), client, one, found)


def replay(
    ctx: typer.Context,
    ids: IdsArgument = None,
    *,
    id_from: IdFromOption = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 60.0,
) -> None:
    """The command."""
    wanted = _wanted(ctx, ids, id_from)
    with common.asking(ctx, url, timeout) as client:
        for one in wanted:
            kept = _fetch(client, one)
            again = cast("Kept", getattr(client, KINDS[one[0]][0]).replay(one))
            if again.raw != kept.raw or not kept.intact:
                fail(ctx, _differs(one, kept, again))
            pins = kept.pins
            if json_:
                told = {"id": one, "same": True, "pins": pins.model_dump(mode="json")}
                common.print_json(json.dumps(told).encode())
                continue
            from gradewright_sdk.cli._show import say

            rests = f"rulebook {pins.rulebook}, ledger revision {pins.revision} and method {pins.method}"
            console = common.out()
            console.print(say(f"{one}: the same again, byte for byte", "bold"))
            console.print(say(f"Worked out again from its request, {rests}. SHA-256 {pins.sha256}", "dim"))


def _show_posting(client: Client, one: str, on: str | None, *, json_: bool) -> None:
    from gradewright_sdk.cli._posting import print_posting, read_whole

    if json_:
        common.print_json(client.postings.get(one, on=on).raw)
    else:
        print_posting(common.out(), client, read_whole(client, one, on), on)


def _wanted(
    ctx: typer.Context, ids: Sequence[str] | None, file: str | None, also: tuple[str, ...] = ()
) -> list[str]:
    """The ids that are meant, each of a kind that can be kept, or beginning like one of `also`."""
    wanted = [one.strip() for one in ids or ()]
    if file is not None:
        try:
            wanted += Path(file).read_text(encoding="utf-8").split()
        except OSError as error:
            fail(ctx, unreadable(file, error))
        except UnicodeDecodeError as error:
            raise typer.BadParameter(f"{file} is no file of ids: it is not text") from error
    if not wanted:
        raise typer.BadParameter("give the ID of a kept answer, or --id-from FILE")
    for one in wanted:
        prefix, dash, _ = one.partition("-")
        if one.startswith(also):
            continue
        if not dash or prefix not in KINDS:
            belongs = f"that is {ELSEWHERE[prefix]}" if dash and prefix in ELSEWHERE else _begins(also)
            raise typer.BadParameter(f"{one!r} is no id of a kept answer: {belongs}")
    return wanted


def _begins(also: tuple[str, ...]) -> str:
    *others, last = (f"{prefix}- ({noun})" for prefix, (_, noun) in KINDS.items())
    more = f"; that of a posting with {POSTING}" if POSTING in also else ""
    return f"one begins with {', '.join(others)} or {last}{more}"


def _fetch(client: Client, one: str) -> Kept:
    return cast("Kept", getattr(client, KINDS[one[0]][0]).get(one))


def _differs(one: str, kept: Kept, again: Kept) -> Failure:
    """The service has sent two answers that are not the same, or one that is not what it says it is."""
    says = (
        f"{one} is not the same again: kept it has SHA-256 {kept.pins.sha256}, worked out again "
        f"{again.pins.sha256}. Tell whoever runs the service."
    )
    if not kept.intact:
        says = (
            f"{one} as kept does not have the SHA-256 that it names. Something between here and the service, "
            "or in its database, has changed it."
        )
    return Failure("replay-differs", "Not the same again", (says,), Exit.REFUSED)


def _print(console: Console, client: Client, one: str, found: Kept) -> None:
    """It, as the command told it that made it."""
    match one[0]:
        case "v":
            from gradewright_sdk.cli._valuation import Report

            valuation = cast("Valuation", found)
            book = client.rulebooks.get(valuation.pins.rulebook)
            Report(valuation, book, [one], 1).print(console)
        case "t":
            from gradewright_sdk.cli._torn_down import show

            show(cast("Teardown", found), console)
        case "h":
            from gradewright_sdk.cli._hauled import print_haul

            print_haul(console, cast("Haul", found))
        case "s":
            from gradewright_sdk.cli._settled import print_settlement

            print_settlement(console, cast("Settlement", found))
        case _:
            from gradewright_sdk.cli._recovered import print_recovery

            print_recovery(console, cast("Recovery", found))
