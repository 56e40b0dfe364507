"""The operator's command that tells what a draft would change, and for whom."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Annotated

import typer

from gradewright.benchmarks.service import BenchmarkService
from gradewright.clock import utc_now
from gradewright.db.session import Database
from gradewright.drafts.proving import Proofs
from gradewright.drafts.service import DraftService
from gradewright.impacts.controller import USUAL_SPAN
from gradewright.impacts.lists import list_in
from gradewright.impacts.schemas import (
    CurrencyOut,
    ImpactIn,
    ImpactOut,
    ListedAt,
    MovedOut,
    OneSidedOut,
    SumsOut,
)
from gradewright.impacts.service import ImpactService, Looked
from gradewright.regions.service import RegionService
from gradewright.rulebooks.service import RulebookService
from gradewright.terminal import JSON_HELP, Stop, commands, one_line_faults, progress, read_as, with_database
from gradewright.terminal_tables import Slug, print_table
from gradewright.yards.service import YardService

MOST_MOVES = 20
BESIDE = ("price lost", "price new")
"""Columns of what has a price before, or after, alone."""
NOTHING_KEPT = (
    "Look at other days with --from and --to, or at parts of your own with --list FILE --region REGION; "
    "valuations are kept by `gradewright-client value FILE --keep`."
)
WORDS = ("region", "grade before", "grade after", "lose most", "gain most", "lose a price", "get a price")
app = commands("Say what a draft would change about the valuations that people have kept.")


@app.command()
def impact(
    draft: Annotated[str, typer.Argument(help="The name of a draft, such as d-7.", metavar="DRAFT")],
    since: Annotated[
        str | None,
        typer.Option("--from", help="From this day. Default: 90 days before --to.", metavar="DAY"),
    ] = None,
    until: Annotated[
        str | None, typer.Option("--to", help="To this day. Default: today.", metavar="DAY")
    ] = None,
    against: Annotated[
        str | None,
        typer.Option(
            help="A published version. Default: the one that it would supersede.", metavar="VERSION"
        ),
    ] = None,
    file: Annotated[
        Path | None,
        typer.Option(
            "--list",
            help="Parts in a file instead of what was kept: CSV with a column for each observation, or JSON.",
            metavar="FILE",
            exists=True,
            dir_okay=False,
        ),
    ] = None,
    region: Annotated[str | None, typer.Option(help="Where the list is valued.", metavar="REGION")] = None,
    yard: Annotated[str | None, typer.Option(help="Or at which yard.", metavar="YARD")] = None,
    on: Annotated[
        str | None, typer.Option(help="The day of its prices. Default: today.", metavar="DAY")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help=JSON_HELP)] = False,
) -> None:
    """Grade and value kept valuations again under a draft: which parts change, how the totals move."""
    with one_line_faults({"from": "--from", "to": "--to"}):
        given = {"from": since, "to": until, "against": against}
        asked = read_as(ImpactIn, {name: text for name, text in given.items() if text is not None}, {})
        place = {"region": region, "yard": yard, "on": on}
        if file is None and any(place.values()):
            raise Stop("--region, --yard and --on are for --list FILE")
        if file is not None and (since or until):
            raise Stop("give a span of days, or --list FILE")
        if file is not None:
            read_as(ListedAt, place, {"": "--region or --yard"})
        last = asked.to or utc_now().date()
        found = with_database(
            lambda database: _looked(
                database, draft, asked.from_ or last - USUAL_SPAN, last, asked.against, file, place
            )
        )
    if as_json:
        typer.echo(found.model_dump_json(indent=2, by_alias=True))
    else:
        _tell(found)


async def _looked(
    database: Database,
    name: str,
    since: date,
    until: date,
    against: str | None,
    file: Path | None,
    place: Mapping[str, str | None],
) -> ImpactOut:
    rulebooks = RulebookService(database)
    yards = YardService(database, RegionService(database), rulebooks)
    drafts = DraftService(database, rulebooks, Proofs(database, yards))
    impacts = ImpactService(database, yards, BenchmarkService(database), rulebooks, drafts)
    draft, looked = await drafts.get(name), Looked(0, 0)
    if file is not None:
        today = utc_now().date()
        given = list_in(file, place, await impacts.attributes(draft, against)).given(today)
        looking = impacts.of_list(draft, given, against)
    else:
        looking = impacts.of_kept(draft, since, until, against)
    with progress("valuations") as tell:
        async for looked in looking:
            tell("", looked.done, looked.of)
    return ImpactOut.of(draft.name, looked)


def _tell(found: ImpactOut) -> None:
    held = f"{found.draft} ({found.version}) against {found.against}"
    days = "" if found.since is None else f", kept from {found.since} to {found.to}"
    if not found.valuations:
        typer.echo(f"{held}{days}: no valuations. {NOTHING_KEPT}")
        return
    typer.echo(
        f"{held}{days}: {_many(found.valuations, 'valuation')}, {_many(found.parts, 'part')}, of which "
        f"{found.parts_changed} {'changes its' if found.parts_changed == 1 else 'change their'} grade."
    )
    for currency in found.currencies:
        _currency(currency)
    for each in found.each[:MOST_MOVES]:
        was, now = (
            f"{side.grade or side.answered} {side.amount or '(no price)'}"
            for side in (each.before, each.after)
        )
        typer.echo(f"  {each.name}: {was} -> {now}")
    if len(found.each) > MOST_MOVES:
        typer.echo(f"  and {len(found.each) - MOST_MOVES} more (--json shows them)")


def _many(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"


def _currency(found: CurrencyOut) -> None:
    everything = found.all
    besides = (everything.no_longer, "lose their price"), (everything.newly, "get a price")
    counted = [(beside, says) for beside, says in besides if beside.parts]
    headline = [
        f"{everything.changed} of {everything.valuations} totals move, from {everything.before} to "
        f"{everything.after} together ({everything.change})",
        f"{found.lose} lose {found.lost.lstrip('-')}, {found.gain} gain {found.gained}",
        *(f"{each.valuations} have parts that {says}, {each.amount} together" for each, says in counted),
    ]
    typer.echo(f"\n{found.currency}: {'. '.join(headline)}.")
    for beside, says in counted:
        typer.echo(
            f"{beside.parts} parts ({beside.weight_kg} kg, {beside.amount}) {says}: beside the totals."
        )
    if found.quartiles is not None:
        told = found.quartiles
        typer.echo(
            f"Of those that move a quarter change by {told.low} or less, half by {told.middle} or less, "
        )
        typer.echo(f"three quarters by {told.high} or less.")
    if len(found.regions) > 1:
        places = [
            (each.region or "", str(each.valuations), str(each.changed), each.before, each.after, each.change)
            for each in found.regions
        ]
        sides = [(each.no_longer.amount, each.newly.amount) for each in found.regions]
        _table(("region", "valuations", "move", "before", "after", "change"), places, sides)
    if found.moves:
        _moves(found.moves[:MOST_MOVES])
        if len(found.moves) > MOST_MOVES:
            typer.echo(f"and {len(found.moves) - MOST_MOVES} moves more (--json shows them)")
    for title, moved in (("lose most", found.losers), ("gain most", found.gainers)):
        if moved:
            _moved(title, moved)
    for title, sided in (("lose a price", found.lose_price), ("get a price", found.gain_price)):
        if sided:
            _sided(title, sided)


def _moves(moves: list[SumsOut]) -> None:
    rows = [
        (
            Slug(each.before),
            Slug(each.after or ""),
            str(each.parts),
            each.weight_kg,
            each.amount_before,
            each.amount_after,
            each.change,
        )
        for each in moves
    ]
    sides = [(each.amount_no_longer, each.amount_newly) for each in moves]
    _table(("grade before", "grade after", "parts", "kg", "before", "after", "change"), rows, sides)


def _moved(title: str, moved: list[MovedOut]) -> None:
    rows = [(each.valuation, each.region, each.before, each.after, each.change) for each in moved]
    _table((title, "region", "before", "after", "change"), rows)


def _sided(title: str, sided: list[OneSidedOut]) -> None:
    rows = [(each.valuation, each.region, str(each.parts), each.amount) for each in sided]
    _table((title, "region", "parts", "amount"), rows)


def _table(
    heads: tuple[str, ...],
    rows: Sequence[tuple[str | Slug, ...]],
    sides: Sequence[tuple[str, str]] = (),
) -> None:
    """`sides`: what has a price once alone, for BESIDE; left out where nothing has."""
    if any(Decimal(amount) for side in sides for amount in side):
        heads, rows = (*heads, *BESIDE), [(*row, *side) for row, side in zip(rows, sides, strict=True)]
    print_table(heads, rows, wraps=WORDS[1:3], right=set(heads) - set(WORDS))
