"""gradewright-client prices: what is paid."""

from __future__ import annotations

from typing import Annotated

import typer

from gradewright_sdk.cli import _common as common

PRICES_HELP = f"""Show the price list of a region or a yard, as of a day and as known at a revision.

Low, likely and high are per weight unit; below them the grade's slug and what they rest on: how many yards
posted it, and when last. Grades that nobody posted, but that are priced by a related grade, are left out
of the table unless --all is given; JSON has them always.

{common.EXIT_CODES}
"""


def prices(
    ctx: typer.Context,
    *,
    region: common.RegionOption = None,
    yard: common.YardOption = None,
    grade: Annotated[
        str | None, typer.Option("--grade", help="This grade alone: slug or alias.", show_default=False)
    ] = None,
    weight: common.WeightOption = None,
    on: common.OnOption = None,
    known_at: common.KnownAtOption = None,
    everything: Annotated[
        bool, typer.Option("--all", help="Also the grades that only a related grade gives a price.")
    ] = False,
    json_: common.JsonOption = False,
    url: common.UrlOption = None,
    timeout: common.TimeoutOption = 30.0,
) -> None:
    """The command."""
    place = common.one_place(region, yard)
    with common.asking(ctx, url, timeout) as client:
        found = client.prices.list(
            region=place.get("region"),
            yard=place.get("yard"),
            on=on,
            known_at=common.revision_or_instant(known_at),
            weight=weight,
            grade=grade,
        )
        if not json_:
            book = client.rulebooks.get(found.rulebook)
    if json_:
        common.print_json(found.raw)
        return
    from gradewright_sdk.cli._prices import print_list

    print_list(common.out(), found, book, kin=everything or grade is not None)
