"""The operator's commands on what devices are made of: load what publications say, list the kinds."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from gradewright.clock import utc_now
from gradewright.compositions.publications import load, read_publications, shipped
from gradewright.compositions.service import CompositionService
from gradewright.compositions.told import KindList
from gradewright.db.session import Database
from gradewright.regions.service import RegionService
from gradewright.rulebooks.service import RulebookService
from gradewright.terminal import JSON_HELP, commands, one_line_faults, with_database
from gradewright.terminal_tables import Slug, print_table

app = commands("Load what publications say that devices are made of; list the kinds that are known.")


@app.command("load")
def load_files(
    files: Annotated[
        list[Path] | None,
        typer.Argument(help="YAML files; none: those that ship.", exists=True, dir_okay=False),
    ] = None,
) -> None:
    """Keep what publications say, for good; what is there already is left as it is.

    It stands in for kinds of device of which no member has recorded one, and is told as such.
    """
    with one_line_faults():
        published = [one for path in files or shipped() for one in read_publications(path)]

        async def keep(database: Database) -> int:
            return await load(database, _service(database), published, utc_now())

        new = with_database(keep)
        typer.echo(f"{new} record{'s'[: new != 1]} loaded, {len(published) - new} there already.")


@app.command("list")
def list_kinds(
    json_: Annotated[bool, typer.Option("--json", help=JSON_HELP)] = False,
) -> None:
    """The kinds of device of which something is known."""
    with one_line_faults():

        async def read(database: Database) -> KindList:
            known = await _service(database).all()
            return KindList.of(known, (await database.newest()).number)

        found = with_database(read)
        if json_:
            typer.echo(found.model_dump_json())
            return
        rows = []
        for kind in found.kinds:
            by = "publications" if kind.published else f"{kind.voices} of the members"
            rows.append((Slug(kind.kind), kind.name, Slug(kind.grade or "-"), str(kind.records), by))
        heads = ("kind", "name", "sold whole as", "records", "by")
        print_table(heads, rows, wraps={"kind", "name", "sold whole as"})


def _service(database: Database) -> CompositionService:
    return CompositionService(database, RegionService(database), RulebookService(database))
