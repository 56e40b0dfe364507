"""What the operator's commands share: expected faults in one line, and a database that is there."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import typer

from gradewright.core.errors import GradewrightError
from gradewright.settings import Settings, SettingsError

FAULT = 2


class Stop(Exception):
    """Ends a command with one line for a person."""


@contextmanager
def one_line_faults() -> Iterator[None]:
    """Expected faults end the command with one line on standard error and exit code 2."""
    try:
        yield
    except (Stop, GradewrightError, SettingsError, ValueError, OSError) as error:
        detail = error.detail if isinstance(error, GradewrightError) else str(error)
        typer.echo(f"gradewright: {detail}", err=True)
        raise typer.Exit(FAULT) from None


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
