"""gradewright-client grade: which grade one part is, asking for one test after the other."""

from __future__ import annotations

import sys
from collections.abc import Collection
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Annotated

import typer

from gradewright_sdk._exceptions import sentence
from gradewright_sdk.cli import _common as common
from gradewright_sdk.cli._failures import err, fail, wrong_usage

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk._inputs import Observed
    from gradewright_sdk._models import Grading

HELP = f"""Grade one part from what is known of it, written attribute=value (metal=copper thickness=3mm).

In a terminal it then asks for one test after the other, each the one that brings the part to its grade with
the least work, and shows which grades are left and what they pay. Press Enter where you do not know: another
test is asked for, if there is one. With a place it stops where all that is left pays nearly the same, or,
with --hour-rate, where finding out costs more than it adds; unless a danger depends on it. Without a
terminal, or with --no-input, it prints the candidates and the next test.

Rules are tried in their order, and the first that holds gives the grade. --trace tells those up to it, or all
while the part is undecided: the ones that hold or could still hold each with what they wait for; of the
others each if they are few, else how many there are for which reason. --json has all of them always.

{common.EXIT_CODES}
"""


def grade(
    ctx: typer.Context,
    known: Annotated[
        list[str] | None,
        typer.Argument(metavar="ATTRIBUTE=VALUE", help="What is known.", show_default=False),
    ] = None,
    *,
    region: common.RegionOption = None,
    yard: common.YardOption = None,
    on: common.OnOption = None,
    ask: Annotated[
        bool | None,
        typer.Option(
            "--input/--no-input", help="Ask for tests, or do not.", show_default="asks in a terminal"
        ),
    ] = None,
    alike_within: Annotated[
        str | None,
        typer.Option(
            "--alike-within",
            metavar="SHARE",
            help="Stop where all prices left lie within this share of the dearest.",
            show_default="5 %",
        ),
    ] = None,
    hour_rate: Annotated[
        str | None,
        typer.Option(
            "--hour-rate",
            metavar="AMOUNT",
            help="What an hour is worth: stop where finding out costs more than it adds, instead.",
        ),
    ] = None,
    weight: Annotated[
        str | None,
        typer.Option("--weight", help="What the part weighs, for --hour-rate.", show_default="1 kg"),
    ] = None,
    trace: Annotated[
        bool, typer.Option("--trace", help="Also say which rules hold, could still hold, or do not, and why.")
    ] = False,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    place = common.one_place(region, yard, needed=False)
    if ask is None:
        ask = sys.stdin.isatty() and sys.stdout.isatty() and not json_
    from gradewright_sdk.cli._ask import Dialogue, as_arguments, given
    from gradewright_sdk.cli._values import BadValue

    with common.asking(ctx, url, timeout) as client:
        book = client.rulebooks.in_force(on=on)
        try:
            observed = given(known or [], book)
        except BadValue as error:
            fail(ctx, wrong_usage(sentence(error.says, error.suggestions)))

        def one(seen: Observed, skip: Collection[str] = ()) -> Grading:
            return client.gradings.grade(
                seen,
                rulebook=book.version,
                on=on,
                region=place.get("region"),
                yard=place.get("yard"),
                skip=skip,
                alike_within=alike_within,
                hour_rate=hour_rate,
                weight=weight,
            )

        skipped: set[str] = set()
        if ask:
            asking = err() if json_ else common.out()
            dialogue = Dialogue(one, book, asking, lambda prompt: _line(asking, prompt), observed)
            grading = dialogue.run()
            skipped = dialogue.skipped
        else:
            grading = one(observed)
    if json_:
        common.print_json(grading.raw)
        return
    from gradewright_sdk.cli._basis import Asked
    from gradewright_sdk.cli._grading import print_grading

    day = date.fromisoformat(on) if on else datetime.now(UTC).date()  # the service's own "today"
    asked = Asked.by_names(region, yard, day, book)
    print_grading(common.out(), grading, as_arguments(observed), skipped, asked, trace=trace)


def _line(console: Console, prompt: str) -> str:
    console.print(f"{prompt}: ", end="")
    line = sys.stdin.readline()
    if not line:
        raise EOFError
    return line
