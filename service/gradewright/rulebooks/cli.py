"""The operator's commands on rulebooks: check a document, load it for good."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Annotated

import typer

from gradewright.clock import utc_now
from gradewright.core.errors import Fault, RulebookError
from gradewright.core.rulebook import Rulebook
from gradewright.db.session import Database
from gradewright.rulebooks import document, shipped
from gradewright.rulebooks.check import check
from gradewright.rulebooks.comparing_cli import compare_versions
from gradewright.rulebooks.needless import repeated_examples
from gradewright.rulebooks.page_cli import print_page
from gradewright.rulebooks.proving_cli import prove_versions
from gradewright.rulebooks.service import RulebookService
from gradewright.rulebooks.source import Document, from_file
from gradewright.settings import Settings
from gradewright.terminal import Stop, commands, one_line_faults, require_migrated

SHOWN_FAULTS = 50

app = commands("Check, prove, compare, print, load and list versions of the grading rulebook.")
app.command("prove")(prove_versions)
app.command("compare")(compare_versions)
app.command("page")(print_page)
Files = Annotated[
    list[Path] | None,
    typer.Argument(help="YAML documents; none: the versions that ship.", exists=True, dir_okay=False),
]


@app.command("check")
def check_files(files: Files = None) -> None:
    """Read documents, try their examples, look for rules that no part reaches; say all that is wrong."""
    unsound = 0
    for path in files or shipped.files():
        faults = _faults(path)
        unsound += bool(faults)
        _tell(path, faults)
    if unsound:
        raise typer.Exit(1)


@app.command("load")
def load_files(files: Files = None) -> None:
    """Keep versions that ship in the database for good; what is there already is left as it is.

    A document of your own is published as a draft, by a second maintainer: gradewright drafts --help.
    """
    with one_line_faults():
        settings = Settings.from_environment()
        require_migrated(settings)
        asyncio.run(_load(settings, files or shipped.files()))


def _faults(path: Path) -> tuple[Fault, ...]:
    """What is wrong with a document; where nothing is, its size is told."""
    try:
        source = from_file(path)
        rulebook = document.read_source(source)
    except RulebookError as error:
        return error.faults
    faults = source.placed(check(rulebook))
    if not faults:
        typer.echo(f"{path.name}: sound. {_size(rulebook)}")
        for note in repeated_examples(rulebook):
            typer.echo(f"{path.name}: note, which needs no action: {note}")
    return faults


def _tell(path: Path, faults: tuple[Fault, ...]) -> None:
    """Each fault on a line of its own, with the file and the line in it."""
    for fault in faults[:SHOWN_FAULTS]:
        typer.echo(f"{path.name}:{fault.line}: {fault.detail}", err=True)
    if len(faults) > SHOWN_FAULTS:
        typer.echo(f"{path.name}: and {len(faults) - SHOWN_FAULTS} more", err=True)


def _size(rulebook: Rulebook) -> str:
    return (
        f"{len(rulebook.grades)} grades, {len(rulebook.attributes)} attributes, {len(rulebook.rules)} rules, "
        f"{len(rulebook.preparations)} preparations, {len(rulebook.cautions)} cautions, "
        f"{len(rulebook.examples)} examples"
    )


async def _load(settings: Settings, paths: list[Path]) -> None:
    database = Database(settings.database_url)
    try:
        service = RulebookService(database)
        documents = [_read(path) for path in paths]
        for path, document_ in zip(paths, documents, strict=True):
            if not ships(document_) and not await _is_there(service, document_):
                raise Stop(_NOT_LOADED.format(file=path.name))
        for document_ in documents:
            rulebook, new = await service.publish(document_, utc_now())
            state = "loaded" if new else "was there already"
            replaced = await service.replaced_by(rulebook)
            instead = f", in place of {' and '.join(replaced)}" if replaced else ""
            typer.echo(f"{rulebook.version} {state}: in force from {rulebook.effective_from}{instead}.")
    finally:
        await database.close()


_NOT_LOADED = (
    "{file} is none of the versions that ship, which were reviewed and proved: nothing is loaded. A document "
    "of your own is proved, and looked at by a second maintainer, as a draft. Make it one: "
    "gradewright drafts new {file} --as … --why …"
)


def ships(document_: Document) -> bool:
    """Whether a document is, value for value, one that comes with the service."""
    named = str(document_.get("version"))
    return any(
        path.stem == named and document.canonical(from_file(path).document) == document.canonical(document_)
        for path in shipped.files()
    )


async def _is_there(service: RulebookService, document_: Document) -> bool:
    """Whether that very document is published already."""
    if str(document_.get("version")) not in await service.versions():
        return False
    kept = await service.get(str(document_["version"]))
    return kept.text.encode() == document.canonical(document_)


def _read(path: Path) -> Document:
    """The document in a file; where it is none, every fault is told with its line."""
    try:
        return from_file(path).document
    except RulebookError as error:
        _tell(path, error.faults)
        raise Stop(f"{path.name} is not loaded: {len(error.faults)} fault(s).") from None
