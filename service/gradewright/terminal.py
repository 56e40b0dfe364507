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
    """Stops where the database cannot be reached, or is not built for this version."""
    from sqlalchemy.exc import SQLAlchemyError

    from gradewright.db import migrate

    try:
        present = migrate.present_schema(settings.database_url)
    except SQLAlchemyError as error:
        reason = str(getattr(error, "orig", None) or error).splitlines()[0]
        raise Stop(f"The database cannot be reached: {reason}") from None
    newest = migrate.newest_schema()
    if present != newest:
        state = "is empty" if present is None else f"has schema {present}; this version needs {newest}"
        raise Stop(f"The database {state}. Run: gradewright migrate")
