"""The operator's command that keeps versions that ship in the database, where that changes no day gone by."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from functools import cache
from pathlib import Path

import typer

from gradewright.clock import utc_now
from gradewright.core.errors import RulebookError
from gradewright.db.session import Database
from gradewright.drafts.past import used
from gradewright.rulebooks import document, shipped
from gradewright.rulebooks.cli import Files, tell
from gradewright.rulebooks.service import RulebookService
from gradewright.rulebooks.source import Document, from_file
from gradewright.settings import Settings
from gradewright.terminal import Stop, one_line_faults, require_migrated

_NOT_LOADED = (
    "{file} is none of the versions that ship: nothing is loaded. A document of your own is proved, and "
    "looked at by a second maintainer, as a draft. Make it one: gradewright drafts new {file} --as … --why …"
)
_PAST = (
    "{version} is not loaded: it would be in force from {begins} in place of {before}, by which there is "
    "what was given or posted since then ({told}), and that must stay as it is. Publish it for a later day: "
    "gradewright drafts new {path} --base {base} --effective-from DAY --as … --why …"
)

_NOT_THEIRS = (
    "{version} is not loaded: it would be in force instead of {others}, published here by another "
    "document than the one that ships, and that may be wanted. Publish it as a draft that names the "
    "versions it is instead of: gradewright drafts new {path} --base {base} --as … --why …"
)
_ANOTHER = "{version} is published already, by another document: it is left as it is."


def load_versions(files: Files = None) -> None:
    """Keep versions that ship in the database for good; what is there already is left as it is.

    One that would be in force on days for which something was valued or posted already is not loaded: it is
    told how it is published for a later day. A document of your own is published as a draft, by a second
    maintainer: gradewright drafts --help.
    """
    with one_line_faults():
        settings = Settings.from_environment()
        require_migrated(settings)
        if asyncio.run(_load(settings, files)):
            raise typer.Exit(1)


async def _load(settings: Settings, files: Sequence[Path] | None) -> bool:
    """Loads what may be; whether something that ships was left out, since it would change the past."""
    database = Database(settings.database_url)
    try:
        service = RulebookService(database)
        paths = shipped.files() if files is None else files
        documents = [_read(path) for path in paths]
        for path, document_ in zip(files or (), documents, strict=files is not None):
            if not ships(document_) and not await _is_there(service, document_):
                raise Stop(_NOT_LOADED.format(file=path.name))
        past = await _past(database, service, dict(zip(paths, documents, strict=True)))
        if past and files is not None:
            raise Stop(f"{next(iter(past.values()))} Nothing is loaded.")
        for path, document_ in zip(paths, documents, strict=True):
            theirs = await _theirs(service, document_)
            if theirs and path not in past and not await _is_there(service, document_):
                past[path] = _NOT_THEIRS.format(
                    version=document_["version"],
                    others=" and ".join(theirs),
                    path=path,
                    base=document_["instead_of"][-1],
                )
            if path in past:
                typer.echo(past[path], err=True)
            elif files is None and await _is_another(service, document_):
                typer.echo(_ANOTHER.format(version=document_["version"]))
            else:
                await _publish(service, document_)
        return bool(past)
    finally:
        await database.close()


async def _past(
    database: Database, service: RulebookService, documents: dict[Path, Document]
) -> dict[Path, str]:
    """Which of the documents would change days gone by, and what to do: by what is there before any of them
    is, since what they bring has answered nothing yet."""
    found = {}
    today = utc_now().date()
    for path, document_ in documents.items():
        rulebook = document.read(document_)
        there = await used(database, service, rulebook, today)
        if there is not None:
            found[path] = _PAST.format(
                version=rulebook.version,
                begins=rulebook.effective_from,
                before=there.version,
                told=there.told(),
                path=path,
                base=(await service.in_force(today)).rulebook.version,
            )
    return found


async def _publish(service: RulebookService, document_: Document) -> None:
    rulebook, new = await service.publish(document_, utc_now())
    state = "loaded" if new else "was there already"
    replaced = await service.replaced_by(rulebook)
    instead = f", in place of {' and '.join(replaced)}" if replaced else ""
    typer.echo(f"{rulebook.version} {state}: in force from {rulebook.effective_from}{instead}.")


def ships(document_: Document) -> bool:
    """Whether a document is, value for value, one that comes with the service."""
    named = str(document_.get("version"))
    return any(
        path.stem == named and document.canonical(_in_file(path)) == document.canonical(document_)
        for path in shipped.files()
    )


async def _theirs(service: RulebookService, document_: Document) -> list[str]:
    """The versions that it is to be in force instead of, and that are published by other documents."""
    named = document_.get("instead_of", ())
    ours = [path for path in shipped.files() if path.stem in named]
    return [path.stem for path in ours if await _is_another(service, _in_file(path))]


async def _is_there(service: RulebookService, document_: Document) -> bool:
    """Whether that very document is published already."""
    return await _kept(service, document_) == document.canonical(document_)


async def _is_another(service: RulebookService, document_: Document) -> bool:
    """Whether its version is published by another document, such as a draft of it for a later day."""
    return await _kept(service, document_) not in (None, document.canonical(document_))


async def _kept(service: RulebookService, document_: Document) -> bytes | None:
    """The document that is published under the same version, if one is."""
    text = await service.text(str(document_.get("version")))
    return None if text is None else text.encode()


@cache
def _in_file(path: Path) -> Document:
    """The document in a file, read once: that takes a while."""
    return from_file(path).document


def _read(path: Path) -> Document:
    """The document in a file; where it is none, every fault is told with its line."""
    try:
        return _in_file(path)
    except RulebookError as error:
        tell(path, error.faults)
        raise Stop(f"{path.name} is not loaded: {len(error.faults)} fault(s).") from None
