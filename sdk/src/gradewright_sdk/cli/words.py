"""gradewright-client withdraw, confirm, dispute, decide: say something later of a posting."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from gradewright_sdk.cli import _common as common
from gradewright_sdk.cli._lines import ranges

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk._client import Client
    from gradewright_sdk._models import WordStored

MOST_LINES = 10_000
PLACES = """\
Say with --line which prices are meant, several times for several: their numbers in the posting, from 1 on.
Without it all are meant that still stand. What is not yours to say, or was said already, is refused, and
nothing is stored."""
WITHDRAW_HELP = f"""Take prices of your own back: they count no more; what was known before stays known.

{PLACES}
To put another price in their place, see correct. Needs the key that posted them, in GRADEWRIGHT_KEY.

{common.EXIT_CODES}
"""
CONFIRM_HELP = f"""Confirm prices of another member: a price that waits counts once a second one is behind it.

`gradewright-client show POSTING` shows first what they are. Told is what each line says, and what the word
did to it.

{PLACES}
Of what you say of a price the last word stands: confirming takes a dispute of yours back. Needs a member's
key in GRADEWRIGHT_KEY.

{common.EXIT_CODES}
"""
DISPUTE_HELP = f"""Dispute prices of another member: two who weigh more than those behind it make it wait.

`gradewright-client show POSTING` shows first what they are. Told is what each line says, and what the word
did to it.

{PLACES}
Of what you say of a price the last word stands: confirm takes a dispute of yours back. Needs a member's key
in GRADEWRIGHT_KEY.

{common.EXIT_CODES}
"""
DECIDE_HELP = f"""Decide on prices: an accepted one counts whatever others say, a rejected one does not.

{PLACES}
The last decision stands. Needs a maintainer's key in GRADEWRIGHT_KEY.

{common.EXIT_CODES}
"""
DONE = {"withdrawal": "Taken back", "confirmation": "Confirmed", "dispute": "Disputed"}

ANSWER = "a kept answer: nothing is said of it later"
OTHERS = {
    "c": "a record of a device: `gradewright-client record KIND --withdraw ID --reason WHY` takes it back",
    "d": "a draft: see `gradewright-client drafts --help`",
    **dict.fromkeys("vthsr", ANSWER),
}
"""What ids are of, by how they begin, and what takes the place of the command there."""

PostingArgument = Annotated[
    str, typer.Argument(metavar="POSTING", help="The posting's id, such as p-1f2e….", show_default=False)
]
ReasonOption = Annotated[
    str, typer.Option("--reason", help="Why, in a few words that stay with it.", show_default=False)
]
LinesOption = Annotated[
    list[int] | None,
    typer.Option("--line", min=1, max=MOST_LINES, help="The number of a price in it.", show_default=False),
]


def withdraw(
    ctx: typer.Context,
    posting: PostingArgument,
    *,
    reason: ReasonOption,
    lines: LinesOption = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    _is_posting(posting)
    with common.asking(ctx, url, timeout) as client:
        _show(client, client.postings.withdraw(posting, reason=reason, lines=lines or None), json_=json_)


def confirm(
    ctx: typer.Context,
    posting: PostingArgument,
    *,
    reason: ReasonOption,
    lines: LinesOption = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    _is_posting(posting)
    with common.asking(ctx, url, timeout) as client:
        _show(client, client.postings.confirm(posting, reason=reason, lines=lines or None), json_=json_)


def dispute(
    ctx: typer.Context,
    posting: PostingArgument,
    *,
    reason: ReasonOption,
    lines: LinesOption = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    _is_posting(posting)
    with common.asking(ctx, url, timeout) as client:
        _show(client, client.postings.dispute(posting, reason=reason, lines=lines or None), json_=json_)


def decide(
    ctx: typer.Context,
    posting: PostingArgument,
    *,
    verdict: Annotated[str, typer.Option("--verdict", help="accepted or rejected.", show_default=False)],
    reason: ReasonOption,
    lines: LinesOption = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    _is_posting(posting)
    with common.asking(ctx, url, timeout) as client:
        said = client.postings.decide(posting, verdict, reason=reason, lines=lines or None)
        _show(client, said, json_=json_)


def _is_posting(id_: str) -> None:
    """Ends the command where it is the id of something else, which it says."""
    prefix, dash, _ = id_.partition("-")
    if dash and prefix in OTHERS:
        raise typer.BadParameter(f"{id_!r} is {OTHERS[prefix]}. The id of a posting begins with p-")


def _show(client: Client, said: WordStored, *, json_: bool) -> None:
    if json_:
        common.print_json(said.raw)
        return
    from gradewright_sdk.cli._posting import print_became

    print_word(common.out(), said)
    print_became(common.out(), client, said)


def print_word(console: Console, said: WordStored) -> None:
    """What was said, of which lines, and where it stands in the ledger."""
    from gradewright_sdk.cli._show import say

    done = DONE.get(said.kind) or (said.verdict or said.kind).capitalize()
    lines = f"line{'s' if len(said.lines) > 1 else ''} {', '.join(ranges(said.lines))}"
    console.print(say(f"{done}: {lines} of {said.posting}", "bold"))
    console.print(say(f"By {said.author}, ledger revision {said.revision}: {said.reason}"))
