"""The operator's commands on regions: add one, list them."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

import typer

from gradewright.clock import utc_now
from gradewright.core.errors import Fault, Refused
from gradewright.db.session import Database
from gradewright.regions.schemas import RegionIn, RegionList, RegionOut
from gradewright.regions.service import Region, RegionService
from gradewright.terminal import JSON_HELP, commands, one_line_faults, read_as, with_database

app = commands("Add and list regions: where prices are compared.")


@app.command("add")
def add(
    code: Annotated[
        str,
        typer.Argument(help="ISO 3166: a country (XO), a subdivision (XO-KEL), or a locality under one."),
    ],
    name: Annotated[str, typer.Option(help="What people call it.")],
    currency: Annotated[str, typer.Option(help="Of its price lists (ISO 4217), such as USD.")],
    unit: Annotated[str, typer.Option(help="Of its price lists, such as lb or kg.")],
    under: Annotated[
        str | None,
        typer.Option(
            help="The region around it. Default: the nearest there is that its code begins with.",
            metavar="CODE",
            show_default=False,
        ),
    ] = None,
    alone: Annotated[
        bool, typer.Option("--alone", help="It stands under no other, though its code begins with one.")
    ] = False,
) -> None:
    """Add a region for good. Where it has no price of its own, that of the region around it stands in."""
    given = {"code": code, "name": name, "parent": under, "currency": currency, "unit": unit}
    with one_line_faults():
        asked = read_as(RegionIn, given, {"code": "CODE", "parent": "--under"}).region()
        made = with_database(lambda database: _added(database, asked, alone=alone))
        typer.echo(f"Region {made.code} is there, {_place(made)}.")


@app.command("list")
def listed(as_json: Annotated[bool, typer.Option("--json", help=JSON_HELP)] = False) -> None:
    """Show all regions, by code."""
    from gradewright.terminal_tables import print_table

    with one_line_faults():
        tree = with_database(lambda database: RegionService(database).tree())
        regions = [RegionOut.of(region) for region in tree.all()]
        if as_json:
            typer.echo(RegionList(regions=regions).model_dump_json(indent=2))
            return
        if not regions:
            typer.echo("There are no regions yet. Add one: gradewright regions add CODE --name …")
            return
        rows = [(each.code, each.name, each.parent or "", each.currency, each.unit) for each in regions]
        print_table(("code", "name", "under", "currency", "unit"), rows, wraps={"name"})


async def _added(database: Database, asked: Region, *, alone: bool) -> Region:
    regions = RegionService(database)
    if asked.parent is None and not alone:
        parent = _nearest(asked.code, set((await regions.tree()).regions))
        if parent is None and "-" in asked.code:
            raise _without_a_parent(asked.code)
        asked = replace(asked, parent=parent)
    async with database.write() as session:
        return await regions.add(session, asked, utc_now())


def _nearest(code: str, there: set[str]) -> str | None:
    """The nearest region around the code's own, of those that are there."""
    around = code.rpartition("-")[0]
    if not around or around in there:
        return around or None
    return _nearest(around, there)


def _without_a_parent(code: str) -> Refused:
    """A region is added for good: one that was forgotten around it could never be put there later."""
    country = code.partition("-")[0]
    detail = (
        f"There is no region {country} for {code} to stand under, and where it stands cannot be changed. "
        f"Add {country} first: gradewright regions add {country} --name … Or add --alone, if {code} is to "
        "stand under no other."
    )
    return Refused(detail, faults=(Fault(detail, ("code",)),))


def _place(made: Region) -> str:
    if made.parent is not None:
        return f"under {made.parent}"
    country, rest, _ = made.code.partition("-")
    return f"under no other: there is no region {country}" if rest else "under no other"
