"""The operator's commands on rulebooks, and those among them that ask for places, answers or drafts."""

from __future__ import annotations

from typing import Annotated

import typer

from gradewright.clock import utc_now
from gradewright.db.session import Database
from gradewright.drafts.loading_cli import load_versions
from gradewright.drafts.origins import DraftOrigins
from gradewright.drafts.proving_cli import prove_versions
from gradewright.rulebooks.cli import app
from gradewright.rulebooks.schemas import RulebookList
from gradewright.rulebooks.service import RulebookService
from gradewright.terminal import JSON_HELP, Stop, one_line_faults, with_database
from gradewright.terminal_tables import print_table

__all__ = ["app"]

app.command("prove")(prove_versions)
app.command("load")(load_versions)


@app.command("list")
def list_versions(as_json: Annotated[bool, typer.Option("--json", help=JSON_HELP)] = False) -> None:
    """The versions in the database, the earliest in force first: by which draft, and who approved it."""
    with one_line_faults():
        found = with_database(_listed)
        if not found.rulebooks and not as_json:
            raise Stop("No rulebook is loaded. Run: gradewright rulebooks load")
    if as_json:
        typer.echo(found.model_dump_json(indent=2))
        return
    columns = ("version", "from", "until", "today", "draft", "by", "rules", "title")
    rows = []
    for each in found.rulebooks:
        origin = each.draft or "(loaded)", each.approved_by or ""
        until, state = str(each.in_force_until or ""), each.state.replace("-", " ")
        if each.in_force_until is not None and each.in_force_until < each.effective_from:
            # Another one is instead of it, or begins on that day with a higher number.
            until, state = "", f"never: {each.replaced_by} instead" if each.replaced_by else "never in force"
        days = str(each.effective_from), until, state
        rows.append((each.version, *days, *origin, str(each.rules), each.title))
    print_table(columns, rows, wraps={"title"}, below="title")


async def _listed(database: Database) -> RulebookList:
    versions = await RulebookService(database).all()
    return RulebookList.of(versions, utc_now().date(), await DraftOrigins(database).origins())
