"""gradewright-client post: post prices seen at a yard."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from gradewright_sdk import _exceptions as ex
from gradewright_sdk.cli import _common as common
from gradewright_sdk.cli._failures import fail, faulty_file, unreadable
from gradewright_sdk.cli._posted import (
    NOTHING,
    as_it_stands,
    explain,
    from_options,
    print_posting,
    too_old,
)
from gradewright_sdk.cli._slips import slips

if TYPE_CHECKING:
    from gradewright_sdk.cli._seen import SeenFile

HELP = f"""Post prices seen at one yard on one day: from FILE (- for standard input), or with --price.

FILE is CSV with the columns grade or label (the yard's own word), price, currency, per, and from_weight
where a price holds from a weight on. --price takes one price and can be repeated: --price "copper-no2 3.35
USD/lb from 100 lb", or --price "No. 2 copper 3.35 USD/lb", by any name of the grade; a label stands in quotes
of its own: --price '"#2 Cu" 3.35 USD/lb'.

Needs a member's key in GRADEWRIGHT_KEY. All prices are stored, or none. One that is far off what others are
paid is stored and waits: that is told, with its figures, and so is what was seen too long ago to count, and
what counts although it is five times what the list had for it before, or a fifth of it.
--json prints the posting as it then stands.

{common.EXIT_CODES}
"""


def post(
    ctx: typer.Context,
    file: Annotated[
        str | None, typer.Argument(metavar="FILE", help="A file of prices, or -.", show_default=False)
    ] = None,
    *,
    yard: Annotated[str, typer.Option("--yard", help="The yard they were seen at.", show_default=False)],
    observed_on: common.ObservedOnOption = None,
    evidence: Annotated[
        str, typer.Option("--evidence", help="ticket, written-list, sign or told.", show_default=False)
    ],
    price: Annotated[
        list[str] | None,
        typer.Option("--price", help="GRADE PRICE CURRENCY/UNIT [from WEIGHT]", show_default=False),
    ] = None,
    note: Annotated[str | None, typer.Option("--note", help="A word about it.", show_default=False)] = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    if (file is None) == (not price):
        raise typer.BadParameter("give a FILE of prices or --price, one of them")
    found = _from_file(ctx, file) if file is not None else from_options(ctx, price or [])
    with common.asking(ctx, url, timeout) as client:
        try:
            posting = client.postings.create(
                yard,
                observed_on=common.seen_on(observed_on),
                evidence=evidence,
                prices=found.prices,
                note=note,
            )
        except (ex.InvalidRequest, ex.NotFound) as error:
            explain(ctx, error, file, found)
        stands = as_it_stands(client, posting)
        if json_:
            common.print_json((stands.today or posting).raw)
            return
        old = too_old(client, posting.observed_on, posting.recorded_at.date())
        far = slips(client, posting, stands.slips_among(posting))
    print_posting(common.out(), posting, stands, old, far)


def _from_file(ctx: typer.Context, file: str) -> SeenFile:
    from gradewright_sdk.cli._files import FileFaults
    from gradewright_sdk.cli._seen import read_seen

    try:
        data = sys.stdin.buffer.read() if file == "-" else Path(file).read_bytes()
        return read_seen(data)
    except OSError as error:
        fail(ctx, unreadable(file, error))
    except FileFaults as error:
        fail(ctx, faulty_file(file, error, None, NOTHING))
