"""gradewright-client haul: which bins go to which yard."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from gradewright_sdk import _exceptions as ex
from gradewright_sdk.cli import _common as common
from gradewright_sdk.cli._failures import err, fail, faulty_file, unreadable

if TYPE_CHECKING:
    from gradewright_sdk.cli._hauled import BinsFile

NOTHING = "Nothing was planned."
LOTS = re.compile(r"([1-9][0-9]{0,5}) lots?", re.ASCII)
HELP = f"""Plan which of the bins in FILE (- for standard input) go to which yard, so that the most is left.

FILE is CSV; the first line names the columns: name, grade (a slug or an alias), weight with its unit, and
perhaps lots (into how many equal ones the bin may be taken apart; without it, it goes together) and lower_to
(as which cheaper grades it may be sold, with + between them, or none; without it, those whose buyers commonly
take it so). Instead of FILE, --bin gives a bin each, or --valuation the piles of a kept valuation.

Yards are those of --region, or each --yard. A yard buys what somebody has posted a price of its own for.

{common.EXIT_CODES}
"""


def haul(
    ctx: typer.Context,
    file: Annotated[
        str | None, typer.Argument(metavar="FILE", help="The bins, or -.", show_default=False)
    ] = None,
    *,
    bin_: Annotated[
        list[str] | None,
        typer.Option(
            "--bin",
            help='A bin, "copper-no2 12 lb", or "copper-no2 12 lb in 3 lots"; repeatable.',
            show_default=False,
        ),
    ] = None,
    valuation: Annotated[
        str | None, typer.Option("--valuation", help="The id of a kept valuation.", show_default=False)
    ] = None,
    region: Annotated[
        str | None, typer.Option("--region", help="To the yards of this region.", show_default=False)
    ] = None,
    yard: Annotated[
        list[str] | None, typer.Option("--yard", help="To this yard; repeatable.", show_default=False)
    ] = None,
    trip_cost: Annotated[
        str | None, typer.Option("--trip-cost", help="What a trip costs.", show_default=False)
    ] = None,
    stop_cost: Annotated[
        str | None, typer.Option("--stop-cost", help="What each yard on a trip costs.", show_default=False)
    ] = None,
    stop_cost_at: Annotated[
        list[str] | None,
        typer.Option(
            "--stop-cost-at",
            metavar="YARD=COST",
            help='What a stop at this yard costs instead, "tern-row=7.50"; repeatable.',
            show_default=False,
        ),
    ] = None,
    pile_cost: Annotated[
        str | None,
        typer.Option("--pile-cost", help="What each further pile at a yard costs.", show_default=False),
    ] = None,
    load: Annotated[
        str | None, typer.Option("--load", help='What a trip can carry, "400 kg".', show_default=False)
    ] = None,
    trips: Annotated[
        int | None, typer.Option("--trips", min=1, help="The most trips.", show_default=False)
    ] = None,
    hold_back: Annotated[
        bool,
        typer.Option(
            "--hold-back",
            help="Keep for later what brings less on this trip than it costs to take along, and say from "
            "which weight on it would go; without it everything goes.",
        ),
    ] = False,
    lower: Annotated[
        bool, typer.Option("--lower/--no-lower", help="Bins may be sold as a cheaper grade.")
    ] = True,
    estimates: Annotated[
        bool, typer.Option("--estimates", help="Where a yard has no price, take the region's or kin's.")
    ] = False,
    seconds: Annotated[
        int, typer.Option("--seconds", min=1, max=20, help="How much may be searched, and how long.")
    ] = 5,
    on: common.OnOption = None,
    known_at: common.KnownAtOption = None,
    rulebook: Annotated[
        str | None, typer.Option("--rulebook", help="By this rulebook version.", show_default=False)
    ] = None,
    keep: Annotated[bool, typer.Option("--keep", help="Let the service keep the haul; says its id.")] = False,
    id_to: common.IdToOption = None,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 60.0,
) -> None:
    """The command."""
    if sum(given is not None for given in (file, bin_ or None, valuation)) != 1:
        raise typer.BadParameter("give a FILE of bins, or each as --bin, or --valuation")
    if region and yard:
        raise typer.BadParameter("give --region or --yard, not both")
    if valuation is None and not (region or yard):
        raise typer.BadParameter("give --region or --yard: the yards to choose from")
    from gradewright_sdk.cli._hauled import print_haul

    bins = None if file is None else _read(ctx, file)
    given = [_bin(text) for text in bin_ or []] if bins is None else list(bins.bins)
    stops = dict(_stop_at(text) for text in stop_cost_at or [])
    from gradewright_sdk.cli._refused import places_are

    places_are(ctx, partial(_place, file, bins))
    with common.asking(ctx, url, timeout) as client, _working(seconds):
        try:
            found = client.hauls.plan(
                given or None,
                valuation=valuation,
                region=region,
                yards=yard or None,
                trip_cost=trip_cost,
                stop_cost=stop_cost,
                stop_cost_at=stops,
                pile_cost=pile_cost,
                load=load,
                trips=trips,
                hold_back=hold_back,
                lower=lower,
                estimates=estimates,
                seconds=seconds,
                on=on,
                known_at=common.revision_or_instant(known_at),
                rulebook=rulebook,
                keep=keep or id_to is not None,
            )
        except ex.APIError as error:
            _explain(ctx, error, file, bins)
            raise
    common.write_ids(ctx, [found.id], id_to)
    if json_:
        common.print_kept(found.raw, found.id)
        return
    print_haul(common.out(), found)


def _bin(text: str) -> dict[str, object]:
    """A bin as it is written on the command line: its grade, then its weight, and perhaps its lots."""
    grade, space, rest = text.strip().partition(" ")
    weight, in_, lots = (each.strip() for each in f"{space}{rest}".partition(" in "))
    found: dict[str, object] = {"name": grade, "grade": grade, "weight": weight}
    number = LOTS.fullmatch(lots)
    if not weight or (in_ and number is None):
        raise typer.BadParameter(
            f"{text!r} is no bin; write its grade and weight, copper-no2 12 lb, and where it may be taken "
            "apart into how many lots, copper-no2 12 lb in 3 lots"
        )
    return found if number is None else {**found, "lots": int(number[1])}


def _stop_at(text: str) -> tuple[str, str]:
    """What a stop at a yard costs, as it is written on the command line."""
    yard, equals, cost = (part.strip() for part in text.partition("="))
    if not (yard and equals and cost):
        raise typer.BadParameter(f"{text!r} is no cost of a stop; write the yard and its cost, tern-row=7.50")
    return yard, cost


def _read(ctx: typer.Context, file: str) -> BinsFile:
    from gradewright_sdk.cli._files import FileFaults
    from gradewright_sdk.cli._hauled import read_bins

    try:
        return read_bins(sys.stdin.buffer.read() if file == "-" else Path(file).read_bytes())
    except OSError as error:
        fail(ctx, unreadable(file, error))
    except FileFaults as error:
        fail(ctx, faulty_file(file, error, None, NOTHING))


def _explain(ctx: typer.Context, error: ex.APIError, file: str | None, bins: BinsFile | None) -> None:
    """End with each fault at the line of the file that it is about, where all are about bins."""
    from gradewright_sdk.cli._files import FileFaults

    if file is None or bins is None:
        return
    placed = [bins.locate(fault) for fault in error.errors]
    known = [fault for fault in placed if fault is not None]
    if known and len(known) == len(placed):
        fail(ctx, faulty_file(file, FileFaults(known), None, NOTHING))


def _place(file: str | None, bins: BinsFile | None, steps: Sequence[str]) -> str | None:
    """Where a fault of the request stands: in the file, or at an option."""
    from gradewright_sdk.cli._files import at

    found = None
    match steps:
        case ["bins", number, *rest] if number.isdigit():
            found = f"--bin number {int(number) + 1}"
            if file is not None and bins is not None:
                found = f"{file}: line {bins.lines[int(number)]}"
            found = at(found, rest[:1])
        case ["bins"]:
            found = file or "--bin"
        case ["yards", number] if number.isdigit():
            found = f"--yard number {int(number) + 1}"
        case ["yards"]:
            found = "--yard"
        case ["costs", ("trip" | "stop" | "pile") as cost]:
            found = f"--{cost}-cost"
        case ["costs", "stop_at", *_]:
            found = "--stop-cost-at"
    return found


@contextmanager
def _working(seconds: int) -> Iterator[None]:
    """Says on standard error that it is being worked on, where that is a terminal."""
    console = err()
    if not console.is_terminal:
        yield
        return
    with console.status(f"Planning, up to {seconds} s…"):
        yield
