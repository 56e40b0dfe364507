"""The operator's command that writes a version as a page to print."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from gradewright.core.errors import NoRulebook, RulebookError
from gradewright.core.rulebook import Rulebook
from gradewright.db.session import Database
from gradewright.rulebooks import document, shipped
from gradewright.rulebooks.page import page
from gradewright.rulebooks.printed import PrintedRulebooks, up_to
from gradewright.rulebooks.service import RulebookService
from gradewright.settings import Settings
from gradewright.terminal import Stop, one_line_faults, require_migrated


def print_page(
    version: Annotated[
        str,
        typer.Argument(
            help="A YAML document, or the name of a version in the database.", metavar="VERSION|FILE"
        ),
    ],
    output: Annotated[
        Path, typer.Option("--output", "-o", help="The HTML file to write.", dir_okay=False, writable=True)
    ],
) -> None:
    """Write a version as one page of HTML, to be read or printed.

    Its history of changes has the versions in the database up to this one; that of a file, those that ship.
    Of a file that is none of these the page says that it is not published.
    """
    with one_line_faults():
        body = _of_file(Path(version)) if _is_file(version) else _of_version(version)
        output.write_bytes(body)
    typer.echo(f"Wrote {output}.")


def _is_file(named: str) -> bool:
    return Path(named).suffix in {".yaml", ".yml"} or Path(named).exists()


def _of_file(path: Path) -> bytes:
    if not path.is_file():
        raise Stop(f"There is no file {path}.")
    try:
        rulebook = document.read_yaml(path)
    except RulebookError as error:
        raise Stop(f"{path} cannot be read as a rulebook: {error.detail}") from None
    ships = _that_ship()
    published = any(each.sha256 == rulebook.sha256 for each in ships)
    return page(rulebook, up_to(rulebook, ships), published=published).encode()


def _that_ship() -> Sequence[Rulebook]:
    return [document.read_yaml(path) for path in shipped.files()]


def _of_version(version: str) -> bytes:
    settings = Settings.from_environment()
    require_migrated(settings)
    return asyncio.run(_kept(settings, version))


async def _kept(settings: Settings, version: str) -> bytes:
    database = Database(settings.database_url)
    try:
        return (await PrintedRulebooks(RulebookService(database)).page(version)).body
    except NoRulebook as error:
        raise Stop(f"{error.detail} Or name a YAML document.") from None
    finally:
        await database.close()
