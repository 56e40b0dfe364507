"""Editing a database by hand, as somebody who has it could: past the service, and past its triggers."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from sqlalchemy import text
from tests.api import World

from gradewright.db.engines import is_sqlite, read_url, sync_engine

Edit = Callable[..., Any]


def url_of(world: World) -> str:
    """Where the database of a world is."""
    return world.services.database.url.render_as_string(hide_password=False).replace("+psycopg", "")


@contextmanager
def edited(url: str) -> Iterator[Edit]:
    """`edit(statement, **values)` on a database whose triggers and foreign keys are out of the way."""
    read = read_url(url)
    engine = sync_engine(read, writes=True)
    triggers: dict[str, str] = {}
    with engine.connect() as connection:
        if is_sqlite(read):
            connection.exec_driver_sql("ROLLBACK")
            connection.exec_driver_sql("PRAGMA foreign_keys=OFF")
            connection.exec_driver_sql("BEGIN IMMEDIATE")
            found = connection.execute(text("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"))
            triggers = dict(map(tuple, found.all()))
            for name in triggers:
                connection.execute(text(f"DROP TRIGGER {name}"))
        else:
            connection.execute(text("SET session_replication_role = replica"))

        def edit(statement: str, **values: Any) -> Any:
            return connection.execute(text(statement), values)

        yield edit
        for made in triggers.values():  # as somebody would who does not want to be noticed
            connection.exec_driver_sql(made)
        connection.commit()
    engine.dispose()


@contextmanager
def tampering(world: World) -> Iterator[Edit]:
    """The same, on the database of a world."""
    world.tampered = True
    with edited(url_of(world)) as edit:
        yield edit
