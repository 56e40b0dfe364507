"""Bringing a database to the newest schema, from a checkout or from an installed package."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import inspect, text

from gradewright import __version__
from gradewright.db.engines import is_missing, read_url, shown, sync_engine

if TYPE_CHECKING:
    from alembic.config import Config
    from sqlalchemy.engine import URL

# Alembic itself is imported to migrate only: a service that starts just looks at which schema there is.
_MADE = re.compile(r'^revision = "(\w+)"', re.MULTILINE)
_BEFORE = re.compile(r'^down_revision = "(\w+)"', re.MULTILINE)


class NewerSchema(ValueError):
    """A database with migrations that this version does not have."""


def migrations_folder() -> Path:
    """Where the migrations are: inside the installed package, else beside `service/` in a checkout."""
    package = Path(__file__).resolve().parents[1]
    installed = package / "migrations"
    return installed if installed.is_dir() else package.parents[1] / "migrations"


def configuration(url: str) -> Config:
    """Alembic's configuration for one database."""
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(migrations_folder()).replace("%", "%%"))
    config.attributes["url"] = read_url(url)
    return config


def schemas() -> frozenset[str]:
    """The names of all migrations that this version has."""
    return frozenset(name for file in _files() for name in _MADE.findall(file))


def newest_schema() -> str:
    """The name of the newest migration: the one that no other comes after."""
    last = schemas() - {name for file in _files() for name in _BEFORE.findall(file)}
    if len(last) != 1:
        raise RuntimeError(f"{migrations_folder()} has {len(last)} newest migrations; there must be one")
    return next(iter(last))


def _files() -> list[str]:
    return [file.read_text(encoding="utf-8") for file in migrations_folder().glob("versions/*.py")]


def present_schema(url: str) -> str | None:
    """The migration that the database is at; None for an empty one."""
    engine = sync_engine(read_url(url))
    try:
        with engine.connect() as connection:
            if not inspect(connection).has_table("alembic_version"):
                return None
            found: str | None = connection.scalar(text("SELECT version_num FROM alembic_version"))
            return found
    finally:
        engine.dispose()


def unfit(url: str) -> str | None:
    """Why this version cannot work with the database, and what to do; None where it can.

    Only looks. Raises SQLAlchemy's errors where the database does not answer.
    """
    read = read_url(url)
    if is_missing(read):
        return (
            f"There is no database {shown(read)}. To make one there, run: gradewright migrate. If you mean "
            "another, name it in GRADEWRIGHT_DATABASE_URL."
        )
    present = present_schema(url)
    if present is None:
        return f"The database {shown(read)} is empty. Run: gradewright migrate"
    if present not in schemas():
        return _newer(read, present)
    if present != newest_schema():
        state = f"has schema {present}; this version needs {newest_schema()}"
        return f"The database {shown(read)} {state}. Run: gradewright migrate"
    if (unsealed := _unsealed(read)) > 0:
        return (
            f"The database {shown(read)} holds {unsealed} revisions that are not sealed yet: they are not in "
            "the tree that proves the history. Run: gradewright migrate"
        )
    return None


def upgrade(url: str, to: str = "head") -> None:
    """Applies what is missing, in one transaction per migration. Raises `NewerSchema`."""
    from alembic import command

    read = read_url(url)
    present = None if is_missing(read) else present_schema(url)
    if present is not None and present not in schemas():
        raise NewerSchema(_newer(read, present))
    command.upgrade(configuration(url), to)


def _unsealed(url: URL) -> int:
    """How many of the ledger's newest revisions have no tree."""
    engine = sync_engine(url)
    try:
        with engine.connect() as connection:
            newest = connection.scalar(text("SELECT revision FROM ledger"))
            sealed = connection.scalar(text("SELECT max(revision) FROM trees"))
            return int(newest or 0) - int(sealed or 0)
    finally:
        engine.dispose()


def _newer(url: URL, present: str) -> str:
    return (
        f"The database {shown(url)} was made by a newer Gradewright: it has schema {present}, and this is "
        f"{__version__}, whose newest is {newest_schema()}. Install the version that made it, or name "
        "another database in GRADEWRIGHT_DATABASE_URL."
    )
