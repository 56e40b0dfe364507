"""gradewright-client settle, settlement, markdowns: scale tickets held against what was expected."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from gradewright_sdk import _exceptions as ex
from gradewright_sdk.cli import _common as common
from gradewright_sdk.cli._failures import Exit, Failure, err, fail, faulty_file, unreadable
from gradewright_sdk.cli._matches import matches_of
from gradewright_sdk.cli._ticket import NOTHING, TEMPLATE, explain, read_ticket
from gradewright_sdk.cli._written import write

if TYPE_CHECKING:
    from rich.console import Console

    from gradewright_sdk._client import Client
    from gradewright_sdk._models import Settlement
    from gradewright_sdk.cli._ticket import TicketFile

HELP = f"""Hold the scale ticket in FILE (- for standard input) against a kept valuation or against bins.

FILE is CSV; --template prints one. Each row is a line, a charge, the total or the cash that was paid, by
its column what (line if it is left out). A line has label (the yard's own word), net, price and amount, and
perhaps per, gross, tare, deduction; grade says what it was accepted as where the label does not, bin which
bin it was where neither tells (several with + between them; a part of the valuation as part:NAME).

The difference is told by what it comes from: weight, deductions, grade, price, rounding, faults on the
ticket. What is unclear is told with what to write; nothing is guessed.

Needs a member's key in GRADEWRIGHT_KEY. --keep stores it, for you and maintainers alone; --post-prices posts
the ticket's prices under your name as well, and tells which of them wait all the same, and why. While
something is unclear nothing is kept, and it ends with 3, unless you add --keep-unclear: a ticket is settled
once, and what is kept stands until it is taken back.

{common.EXIT_CODES}
"""
NOT_KEPT = (
    "Not kept: what is unclear stands under Unclear. Say with --match, or in the column bin, what it is; "
    "or add --keep-unclear if that is how it was: a bin that the yard left out, a line for nothing brought."
)
COUNT = "All of them count."
NOT_SHOWN = "As the ticket does not add up, it bears none of its prices out."
SETTLEMENT_HELP = f"""Show a settlement that you kept, or take it back with --withdraw REASON.

What is taken back counts in no figure, and its prices go with it; it stays readable.

{common.EXIT_CODES}
"""
MARKDOWNS_HELP = f"""How often and by how much YARD accepts less than was brought, from its sellers' tickets.

Never of fewer than three sellers. Needs a member's key in GRADEWRIGHT_KEY.

{common.EXIT_CODES}
"""


def settle(
    ctx: typer.Context,
    file: Annotated[
        str | None, typer.Argument(metavar="FILE", help="The ticket, or -.", show_default=False)
    ] = None,
    *,
    yard: Annotated[
        str | None, typer.Option("--yard", help="Whose ticket it is.", show_default=False)
    ] = None,
    on: Annotated[
        str | None,
        typer.Option("--on", help="The day on the ticket, YYYY-MM-DD (today).", show_default=False),
    ] = None,
    ticket_number: Annotated[
        str | None, typer.Option("--number", help="The ticket's number.", show_default=False)
    ] = None,
    valuation: Annotated[
        str | None, typer.Option("--valuation", help="The id of a kept valuation.", show_default=False)
    ] = None,
    bin_: Annotated[
        list[str] | None,
        typer.Option("--bin", help='What was brought, "copper-no2 12 lb"; repeatable.', show_default=False),
    ] = None,
    match_: Annotated[
        list[str] | None,
        typer.Option(
            "--match",
            help='Which bin a line is, "2=copper-no2", or bins, "2=copper-no1+copper-no2"; repeatable.',
            show_default=False,
        ),
    ] = None,
    keep: Annotated[bool, typer.Option("--keep", help="Let the service keep it; says its id.")] = False,
    keep_unclear: Annotated[
        bool, typer.Option("--keep-unclear", help="Keep it although lines or bins are unclear.")
    ] = False,
    id_to: common.IdToOption = None,
    post_prices: Annotated[
        bool, typer.Option("--post-prices", help="Post the ticket's prices under your name; keeps it too.")
    ] = False,
    template: Annotated[bool, typer.Option("--template", help="Print a ticket to fill in.")] = False,
    output: Annotated[
        str | None, typer.Option("--output", help="Write the template to this file.", show_default=False)
    ] = None,
    strict: Annotated[
        bool, typer.Option("--strict", help="End with 3 if anything is unclear or does not add up.")
    ] = False,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    if template:
        write(ctx, TEMPLATE.encode(), output, "a ticket to fill in")
        return
    if file is None or yard is None:
        raise typer.BadParameter("give FILE and --yard: --template prints a ticket to fill in")
    if (valuation is None) == (not bin_):
        raise typer.BadParameter("give --valuation or --bin: a ticket is held against what was expected")
    bins = None if valuation is not None else [_bin(text) for text in bin_ or []]
    by_hand = [matches_of(text) for text in match_ or []]
    found = _read(ctx, file)
    found.options = [number for number, matches in enumerate(by_hand, 1) for _ in matches]
    ticket = {**found.ticket, "on": on or _today(), "number": ticket_number}
    matches = [*found.matches, *chain.from_iterable(by_hand)]
    keeping = keep or keep_unclear or post_prices or id_to is not None
    with common.asking(ctx, url, timeout) as client:

        def ask(*, keep: bool) -> Settlement:
            return client.settlements.settle(
                yard,
                ticket,
                valuation=valuation,
                bins=bins,
                matches=matches,
                keep=keep,
                post_prices=keep and post_prices,
            )

        try:
            settlement = ask(keep=keeping and keep_unclear)
            unmatched = settlement.unmatched
            unclear = bool(unmatched.lines or unmatched.bins or settlement.may_be_marked_down)
            if keeping and not keep_unclear and not unclear:
                settlement = ask(keep=True)
        except (ex.InvalidRequest, ex.Conflict) as error:
            explain(ctx, error, file, found)
        counts = None if settlement.posting is None else _counts(client, settlement, settlement.posting)
    if keeping and settlement.id is None:
        _print(settlement, as_json=json_)
        fail(ctx, Failure("unclear", "Not kept", (NOT_KEPT,), Exit.INCOMPLETE))
    common.write_ids(ctx, [settlement.id], id_to)
    _print(settlement, as_json=json_)
    if counts is not None:
        counts(err() if json_ else common.out())
    if strict and not (settlement.complete and settlement.adds_up):
        raise typer.Exit(Exit.INCOMPLETE)


def settlement(
    ctx: typer.Context,
    id: Annotated[str, typer.Argument(metavar="SETTLEMENT", show_default=False)],
    *,
    withdraw: Annotated[
        str | None, typer.Option("--withdraw", help="Take it back, and why.", show_default=False)
    ] = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    with common.asking(ctx, url, timeout) as client:
        if withdraw is None:
            _print(client.settlements.get(id), as_json=json_)
            return
        back = client.settlements.withdraw(id, reason=withdraw)
    if json_:
        common.print_json(back.raw)
        return
    from gradewright_sdk.cli._show import say

    went = f" Of {back.posting} {len(back.lines)} prices went with it." if back.lines else ""
    common.out().print(say(f"{back.settlement} is taken back: it counts in no figure.{went}"))


def markdowns(
    ctx: typer.Context,
    yard: Annotated[str, typer.Argument(metavar="YARD", show_default=False)],
    *,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    with common.asking(ctx, url, timeout) as client:
        found = client.settlements.markdowns(yard)
    if json_:
        common.print_json(found.raw)
        return
    from gradewright_sdk.cli._settled import print_markdowns

    print_markdowns(common.out(), found)


def _counts(client: Client, found: Settlement, posting: str) -> Callable[[Console], None]:
    """What prints which of the posted prices count, and why others do not; it is asked for at once.

    They are stored whatever comes of this: that is never an error of the command.
    """
    from gradewright_sdk.cli._posted import UNSURE, as_it_stands, print_standing, too_old
    from gradewright_sdk.cli._show import say
    from gradewright_sdk.cli._slips import slips

    try:
        posted = client.postings.get(posting)
    except ex.GradewrightError:
        return lambda console: console.print(say(UNSURE, "yellow"))
    stands = as_it_stands(client, posted)
    old = too_old(client, posted.observed_on, posted.recorded_at.date())
    far = [] if stands.today is None else slips(client, posted, stands.slips_among(posted))

    def tell(console: Console) -> None:
        today = stands.today
        if today is not None and all(price.status == "counts" for price in today.prices) and old is None:
            console.print(say(COUNT))
        print_standing(console, stands, old, far, of=" of it", because=NOT_SHOWN if found.flaws else None)

    return tell


def _print(found: Settlement, *, as_json: bool) -> None:
    if as_json:
        common.print_kept(found.raw, found.id)
        if found.id is not None and found.looks_like is not None:
            from gradewright_sdk.cli._settled import alike

            err().print(alike(found), soft_wrap=True)
        if found.posting is not None:
            err().print(f"Prices posted as {found.posting}", soft_wrap=True)
        return
    from gradewright_sdk.cli._settled import print_settlement

    print_settlement(common.out(), found)


def _read(ctx: typer.Context, file: str) -> TicketFile:
    from gradewright_sdk.cli._files import FileFaults

    try:
        data = sys.stdin.buffer.read() if file == "-" else Path(file).read_bytes()
        return read_ticket(data)
    except OSError as error:
        fail(ctx, unreadable(file, error))
    except FileFaults as error:
        fail(ctx, faulty_file(file, error, None, NOTHING))


def _today() -> str:
    """The day where this runs: tickets are dated by the clock on the wall."""
    return datetime.now(UTC).astimezone().date().isoformat()


def _bin(text: str) -> Mapping[str, object]:
    grade, _, weight = text.strip().partition(" ")
    if not weight.strip():
        raise typer.BadParameter(f"{text!r} is no bin; write its grade and weight, copper-no2 12 lb")
    return {"grade": grade, "weight": weight.strip()}
