"""gradewright-client correct: take prices of your own back and post others in their place."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from gradewright_sdk import _exceptions as ex
from gradewright_sdk.cli import _common as common
from gradewright_sdk.cli import words
from gradewright_sdk.cli._failures import fail, wrong_usage
from gradewright_sdk.cli._posted import (
    as_it_stands,
    explain,
    from_options,
    print_posting,
    too_old,
)
from gradewright_sdk.cli._slips import slips

if TYPE_CHECKING:
    from gradewright_sdk._client import Client

GONE = frozenset({"withdrawn", "rejected"})
HELP = f"""Put prices of your own right: take them back and post others in their place, all of it or nothing.

Say with --line which prices are taken back, several times for several; --all takes back all that still stand,
and so does neither of the two where as many are posted in their place. What is posted instead stands in
--price, as in post: --price "copper-no2 3.35 USD/lb from 100 lb". Day, evidence and note stay as they were
posted, unless they are said again.

Needs the key that posted them, in GRADEWRIGHT_KEY.

{common.EXIT_CODES}
"""


def correct(
    ctx: typer.Context,
    posting: words.PostingArgument,
    *,
    price: Annotated[
        list[str], typer.Option("--price", help="GRADE PRICE CURRENCY/UNIT [from WEIGHT]", show_default=False)
    ],
    reason: words.ReasonOption,
    lines: words.LinesOption = None,
    all_: Annotated[bool, typer.Option("--all", help="Take all back that still stand.")] = False,
    observed_on: Annotated[
        str | None,
        typer.Option("--observed-on", help="The day they were seen, YYYY-MM-DD.", show_default=False),
    ] = None,
    evidence: Annotated[
        str | None, typer.Option("--evidence", help="ticket, written-list, sign or told.", show_default=False)
    ] = None,
    note: Annotated[str | None, typer.Option("--note", help="A word about it.", show_default=False)] = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    found = from_options(ctx, price)
    with common.asking(ctx, url, timeout) as client:
        if not lines and not all_:
            _not_more(ctx, client, posting, len(found.prices))
        try:
            made = client.postings.correct(
                posting,
                found.prices,
                reason=reason,
                lines=lines or None,
                observed_on=observed_on,
                evidence=evidence,
                note=note,
            )
        except (ex.InvalidRequest, ex.NotFound) as error:
            explain(ctx, error, None, found)
        if json_:
            common.print_json(made.raw)
            return
        stands = as_it_stands(client, made.posting)
        old = too_old(client, made.posting.observed_on, made.posting.recorded_at.date())
        from gradewright_sdk.cli._posting import print_became

        far = slips(client, made.posting, stands.slips_among(made.posting), instead_of=posting)
        console = common.out()
        words.print_word(console, made.withdrawal)
        print_became(console, client, made.withdrawal)
    print_posting(console, made.posting, stands, old, far)


def _not_more(ctx: typer.Context, client: Client, posting: str, count: int) -> None:
    """Wrong usage where more prices would be taken back than are posted in their place: a list would be gone
    for one price that was mistyped. What cannot be looked at is left to the service to say.
    """
    try:
        found = client.postings.get(posting)
    except ex.APIError:
        return
    stand = sum(price.status not in GONE for price in found.prices)
    if stand > count:
        more = "more than " if found.next_line is not None else ""
        says = (
            f"{more}{stand} prices of {posting} stand, and {count} would be in their place: say with --line "
            f"which is meant (`gradewright-client show {posting}` numbers them), or --all to take all back"
        )
        fail(ctx, wrong_usage(says))
