"""The operator's command that compares two versions, from files or out of the database."""

from __future__ import annotations

import asyncio
import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from gradewright.core.errors import NoRulebook, RulebookError
from gradewright.core.rulebook import Rulebook
from gradewright.db.session import Database
from gradewright.rulebooks import document
from gradewright.rulebooks.comparison_schemas import ComparisonOut
from gradewright.rulebooks.proving_cli import as_yaml
from gradewright.rulebooks.service import RulebookService
from gradewright.rulebooks.source import from_file
from gradewright.settings import Settings
from gradewright.terminal import Stop, one_line_faults, progress, require_migrated

if TYPE_CHECKING:
    from gradewright.rulebooks.comparison import Comparison

Named = tuple[Rulebook, dict[str, Any]]
VERSION_HELP = "A YAML document, or the name of a version in the database."


def compare_versions(
    before: Annotated[str, typer.Argument(help=f"The earlier one. {VERSION_HELP}")],
    after: Annotated[str, typer.Argument(help=f"The later one. {VERSION_HELP}")],
    as_json: Annotated[bool, typer.Option("--json", help="All of it, for scripts.")] = False,
) -> None:
    """Say which parts change their grade between two versions, each with the smallest part that does."""
    from gradewright.rulebooks.comparison import compare  # the solver: other commands need not wait for it

    with one_line_faults():
        old, new = _read(before), _read(after)
        with progress(f"{old[0].version} and {new[0].version}") as tell:
            found = compare(old, new, lambda what, done, of: tell(f"{what} {done}", done, of))
    if as_json:
        told = ComparisonOut.of(found, old[0], new[0])
        typer.echo(json.dumps(told.model_dump(), indent=2, ensure_ascii=False))
    else:
        _tell(found)


def _tell(found: Comparison) -> None:
    for line in found.summary:
        typer.echo(line)
    for move in found.moves:
        typer.echo(
            f"\n{move.before.grade or move.before.answered} -> {move.after.grade or move.after.answered}"
        )
        for way in move.ways:
            rules = f"{way.rule_before or 'no rule'}, then {way.rule_after or 'no rule'}"
            typer.echo(f"  {as_yaml(way.part)}  by {rules}")
        if not move.all_ways:
            typer.echo("  and more")
    texts = len(found.differences.texts)
    if texts:
        typer.echo(f"\n{texts} texts stand otherwise (--json shows them).")


def _read(named: str) -> Named:
    """A version by its file, or by its name in the database."""
    path = Path(named)
    if path.suffix in (".yaml", ".yml") or path.exists():
        if not path.is_file():
            raise Stop(f"There is no file {named}.")
        try:
            source = from_file(path)
            return document.read_source(source), source.document
        except RulebookError as error:
            raise Stop(f"{named} cannot be read as a rulebook: {error.detail}") from None
    settings = Settings.from_environment()
    require_migrated(settings)
    return asyncio.run(_kept(settings, named))


async def _kept(settings: Settings, version: str) -> Named:
    database = Database(settings.database_url)
    try:
        found = await RulebookService(database).get(version)
    except NoRulebook as error:
        raise Stop(f"{error.detail} Or name a YAML document.") from None
    finally:
        await database.close()
    return found.rulebook, json.loads(found.text)
