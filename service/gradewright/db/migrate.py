"""Bringing a database to the newest schema, from a checkout or from an installed package."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import inspect, text

from gradewright.db.engines import read_url, sync_engine

if TYPE_CHECKING:
    from alembic.config import Config

# Alembic itself is imported to migrate only: a service that starts just looks at which schema there is.
_MADE = re.compile(r'^revision = "(\w+)"', re.MULTILINE)
_BEFORE = re.compile(r'^down_revision = "(\w+)"', re.MULTILINE)


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


def newest_schema() -> str:
    """The name of the newest migration: the one that no other comes after."""
    files = [file.read_text(encoding="utf-8") for file in migrations_folder().glob("versions/*.py")]
    made: set[str] = {name for file in files for name in _MADE.findall(file)}
    last = made - {name for file in files for name in _BEFORE.findall(file)}
    if len(last) != 1:
        raise RuntimeError(f"{migrations_folder()} has {len(last)} newest migrations; there must be one")
    return last.pop()


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


def upgrade(url: str, to: str = "head") -> None:
    """Applies what is missing, in one transaction per migration."""
    from alembic import command

    command.upgrade(configuration(url), to)
