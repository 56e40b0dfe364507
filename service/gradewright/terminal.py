"""What the operator's commands share: expected faults in one line, and a database that is there."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Awaitable, Callable, Iterator, Mapping
from contextlib import contextmanager
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, TypeVar

import typer

from gradewright.core.errors import GradewrightError
from gradewright.settings import Settings, SettingsError
from gradewright.web.wording import detail_of

if TYPE_CHECKING:
    from pydantic import BaseModel

    from gradewright.db.session import Database

    M = TypeVar("M", bound=BaseModel)

T = TypeVar("T")
FAULT = 2
JSON_HELP = "Print JSON for scripts instead of a table."


class Stop(Exception):
    """Ends a command with one line for a person."""


def commands(says: str, **more: Any) -> typer.Typer:
    """A group of commands, with help as the client's command line has it."""
    plain: dict[str, Any] = {"rich_markup_mode": None, "pretty_exceptions_enable": False}
    return typer.Typer(help=says, **{"no_args_is_help": True, "add_completion": False, **plain, **more})


@contextmanager
def one_line_faults(options: Mapping[str, str] = MappingProxyType({})) -> Iterator[None]:
    """Expected faults end the command with one line on standard error and exit code 2.

    `options`: how fields are written on the command line; a fault of one is told by it.
    """
    try:
        yield
    except (Stop, GradewrightError, SettingsError, ValueError, OSError) as error:
        detail = str(error)
        if isinstance(error, GradewrightError):
            at = [fault.at[0] for fault in error.faults[:1] if fault.at]
            option = "".join(f"{options[str(name)]}: " for name in at if name in options)
            detail = option + by_options(error.detail, options)
        typer.echo(f"gradewright: {detail}", err=True)
        raise typer.Exit(FAULT) from None


def by_options(text: str, options: Mapping[str, str]) -> str:
    """What a service says of its `fields`, said of the options that stand for them."""
    for name, option in options.items():
        text = text.replace(f"`{name}`", option)
    return text


def require_migrated(settings: Settings) -> None:
    """Stops where the database cannot be reached, or is not built for this version. Makes nothing."""
    from sqlalchemy.exc import SQLAlchemyError

    from gradewright.db import migrate

    try:
        found = migrate.unfit(settings.database_url)
    except SQLAlchemyError as error:
        raise Stop(unreachable(settings, error)) from None
    if found is not None:
        raise Stop(found)


def unreachable(settings: Settings, error: Exception) -> str:
    """What to tell of a database that does not answer: which one it is, why, and what helps."""
    from gradewright.db.engines import read_url, readable, shown
    from gradewright.logs import cause

    url = read_url(settings.database_url)
    told = f"The database {shown(url)} cannot be used: {cause(error)}"
    if (offered := readable(url, error)) is None:
        return told
    return (
        f"{told}. SQLite writes beside the file, and its folder does not allow that. Allow it; or, if nobody "
        f"writes to the file, read it as {offered}"
    )


def with_database(use: Callable[[Database], Awaitable[T]]) -> T:
    """Runs `use` on the database of the settings, once it is known to be fit, and closes it."""
    from sqlalchemy.exc import OperationalError

    from gradewright.db.session import Database

    settings = Settings.from_environment()
    require_migrated(settings)

    async def run() -> T:
        database = Database(settings.database_url)
        try:
            return await use(database)
        finally:
            await database.close()

    try:
        return asyncio.run(run())
    except OperationalError as error:
        raise Stop(unreachable(settings, error)) from None


@contextmanager
def progress(about: str) -> Iterator[Callable[[str, int, int], None]]:
    """A bar on standard error while something long goes on: told what is done, how far it is, and how much
    there is (0: not known). For people alone: into a file it would write empty lines."""
    from rich.console import Console
    from rich.progress import BarColumn, Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

    console = Console(stderr=True)
    # What turns says that it goes on where one thing takes long; in signs that every terminal has.
    turns, elapsed = SpinnerColumn("line"), TimeElapsedColumn()
    what_now, far = (TextColumn(f"{{task.{name}}}", markup=False) for name in ("description", "fields[far]"))
    columns = (turns, what_now, BarColumn(), far, elapsed)
    with Progress(*columns, console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task(about, total=None, far="")
        yield lambda what, done, of: bar.update(
            task,
            description=f"{about}: {what}" if what else about,
            completed=done,
            total=of or None,
            far=f"{done}/{of}" if of else "",
        )


def read_as(model: type[M], given: Mapping[str, Any], options: Mapping[str, str]) -> M:
    """What options say, read as the interface reads it; stops with the first that cannot be.

    `options`: how a field is written on the command line, where it is not `--` and its name; under "" those
    that a fault of all of them together is about.
    """
    from pydantic import ValidationError

    try:
        return model.model_validate_json(json.dumps(given))
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        named = [str(step) for step in first["loc"]]
        own = [options[step] for step in named if step in options]
        option = own[-1] if own else "--" + named[0].replace("_", "-") if named else options.get("", "")
        raise Stop(f"{option}: {detail_of(first)}".removeprefix(": ")) from None
