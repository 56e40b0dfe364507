"""The operator's commands on yards: add one with its own words for grades, list them."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from gradewright.clock import utc_now
from gradewright.db.session import Database
from gradewright.regions.service import RegionService
from gradewright.rulebooks.service import RulebookService
from gradewright.terminal import JSON_HELP, Stop, commands, one_line_faults, read_as, with_database
from gradewright.yards.house_cli import rules
from gradewright.yards.schemas import YardIn, YardList, YardSeen
from gradewright.yards.service import Yard, YardService

OPTIONS = {"slug": "SLUG", "labels": "--label", "from": "--labels-from"}

app = commands("Add and list yards: buyers with a scale; their house rules.")
rules(app, "yard")


@app.command("add")
def add(
    slug: Annotated[str, typer.Argument(help="Lower-case letters, digits and hyphens, such as low-quay.")],
    name: Annotated[str, typer.Option(help="What people call it.")],
    region: Annotated[str, typer.Option(help="The code of its region; `gradewright regions list`.")],
    currency: Annotated[str, typer.Option(help="What it pays in (ISO 4217), such as USD.")],
    unit: Annotated[str, typer.Option(help="What it usually quotes by, such as lb or kg.")],
    rounding: Annotated[str, typer.Option(help="Of each line: half-even, half-up or down.")] = "half-even",
    cash_increment: Annotated[
        str | None, typer.Option(help="What cash is rounded to, such as 0.05.", show_default=False)
    ] = None,
    label: Annotated[
        list[str] | None,
        typer.Option(
            help="Its own word for a grade: '#2 Cu=copper-no2'. As often as needed.", metavar="LABEL=GRADE"
        ),
    ] = None,
    labels_from: Annotated[
        str | None,
        typer.Option(
            help="The day from which labels count. Default: today.", metavar="DAY", show_default=False
        ),
    ] = None,
    refuses: Annotated[
        list[str] | None,
        typer.Option(help="A grade that it does not take. As often as needed.", metavar="GRADE"),
    ] = None,
) -> None:
    """Add a yard for good. Grades are named by their slugs."""
    with one_line_faults():
        if labels_from and not label:
            raise Stop("--labels-from needs a --label that counts from that day")
        given = {
            "slug": slug,
            "name": name,
            "region": region,
            "currency": currency,
            "unit": unit,
            "rounding": rounding,
            "cash_increment": cash_increment,
            "labels": [_label(text, labels_from) for text in label or ()],
            "refuses": refuses or [],
        }
        asked = read_as(YardIn, given, OPTIONS)
        made = with_database(lambda database: _added(database, asked))
        typer.echo(f"Yard {made.slug} is there, in {made.region}.")


@app.command("list")
def listed(as_json: Annotated[bool, typer.Option("--json", help=JSON_HELP)] = False) -> None:
    """Show all yards, by slug."""
    from rich.console import Console

    from gradewright.terminal_tables import Slug, print_table

    with one_line_faults():
        atlas = with_database(lambda database: _service(database).atlas())
        yards = [YardSeen.seen(atlas, yard, utc_now().date()) for yard in atlas.all()]
        if as_json:
            typer.echo(YardList(yards=yards).model_dump_json(by_alias=True, indent=2))
            return
        if not yards:
            typer.echo("There are no yards yet. Add one: gradewright yards add SLUG --name … --region …")
            return
        rows = [(Slug(yard.slug), yard.name, yard.region, yard.currency, yard.unit) for yard in yards]
        print_table(("slug", "name", "region", "currency", "unit"), rows, wraps={"slug", "name"})
        console = Console()
        for yard in yards:
            for said in yard.labels:
                console.print(f"{yard.slug} calls {said.grade} {said.label!r}", markup=False, soft_wrap=True)
            if yard.refuses:
                refuses = ", ".join(yard.refuses)
                console.print(f"{yard.slug} does not take {refuses}", markup=False, soft_wrap=True)
            others = [f"{one.grade} (none in {one.by})" for one in yard.not_taken if not one.own]
            if others:
                console.print(f"{yard.slug} does not take {', '.join(others)}", markup=False, soft_wrap=True)


async def _added(database: Database, asked: YardIn) -> Yard:
    now = utc_now()
    async with database.write() as session:
        return await _service(database).add(session, asked.yard(now.date()), now)


def _service(database: Database) -> YardService:
    return YardService(database, RegionService(database), RulebookService(database))


def _label(text: str, valid_from: str | None) -> dict[str, Any]:
    """A label may have any sign in it; a grade has no equals sign."""
    label, found, grade = text.rpartition("=")
    if not found:
        raise Stop("--label: write LABEL=GRADE, such as '#2 Cu=copper-no2'")
    return {"label": label.strip(), "grade": grade.strip(), "from": valid_from}
