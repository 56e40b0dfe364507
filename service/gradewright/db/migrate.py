"""Bringing a database to the newest schema, from a checkout or from an installed package."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory

from gradewright.db.engines import read_url, sync_engine


def migrations_folder() -> Path:
    """Where the migrations are: inside the installed package, else beside `service/` in a checkout."""
    package = Path(__file__).resolve().parents[1]
    installed = package / "migrations"
    return installed if installed.is_dir() else package.parents[1] / "migrations"


def configuration(url: str) -> Config:
    """Alembic's configuration for one database."""
    config = Config()
    config.set_main_option("script_location", str(migrations_folder()).replace("%", "%%"))
    config.attributes["url"] = read_url(url)
    return config


def newest_schema() -> str:
    """The name of the newest migration."""
    head = ScriptDirectory(str(migrations_folder())).get_current_head()
    if head is None:
        raise RuntimeError(f"no migrations in {migrations_folder()}")
    return head


def present_schema(url: str) -> str | None:
    """The migration that the database is at; None for an empty one."""
    engine = sync_engine(read_url(url))
    try:
        with engine.connect() as connection:
            return MigrationContext.configure(connection).get_current_revision()
    finally:
        engine.dispose()


def upgrade(url: str, to: str = "head") -> None:
    """Applies what is missing, in one transaction per migration."""
    command.upgrade(configuration(url), to)
