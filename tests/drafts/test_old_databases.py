"""A database from before there were drafts, with data in it, is brought up to date and takes drafts."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager

import pytest
from sqlalchemy import text

from gradewright.asgi import create_app
from gradewright.db import migrate
from gradewright.db.engines import read_url, sync_engine
from gradewright.settings import Settings
from tests.api import World, price, settle
from tests.conftest import KINDS, Watch, talk_to
from tests.drafts.desk import Desk

BEFORE = "0006"
TABLES = ("regions", "yards", "postings", "entries", "rulebooks", "accounts", "keys", "leaves")
THEN = {"rulebooks": "version, effective_from, title, summary, document, sha256, published_at, revision"}
"""The columns of a table that has more by now."""


@pytest.mark.parametrize("kind", KINDS)
async def test_an_old_database_takes_drafts(kind: str, make_url: Callable[..., str]) -> None:
    """What was there stays byte for byte, and a draft of its version is published."""
    url = make_url(kind, migrated=False)
    migrate.upgrade(url, BEFORE)
    assert migrate.present_schema(url) == BEFORE
    _change(url, "ADD COLUMN instead_of VARCHAR")  # which today's service asks for
    async with _running(url) as world:
        await settle(world)
        await world.post(price("copper-no1", "3.00"))
    _change(url, "DROP COLUMN instead_of")
    before = _rows(url)
    assert before["entries"]
    assert before["rulebooks"]
    migrate.upgrade(url)
    assert migrate.present_schema(url) == migrate.newest_schema()
    after = _rows(url)
    assert {table: after[table] for table in before} == before
    async with _running(url) as world:
        assert (await Desk(world).published())["state"] == "published"


@asynccontextmanager
async def _running(url: str) -> AsyncIterator[World]:
    clock = Watch()
    app = create_app(Settings(database_url=url, ledger_poll_seconds=0), clock=clock)
    async with talk_to(app) as client:
        yield World(app, client, clock)


def _change(url: str, how: str) -> None:
    """Changes the table of rulebooks as a database before had it, or has it afterwards."""
    engine = sync_engine(read_url(url), writes=True)
    with engine.begin() as connection:
        connection.execute(text(f"ALTER TABLE rulebooks {how}"))
    engine.dispose()


def _rows(url: str) -> dict[str, list[str]]:
    """The rows of the tables that were there before, as text."""
    engine = sync_engine(read_url(url))
    with engine.connect() as connection:
        found = {
            table: sorted(
                map(
                    repr,
                    # Of tables and columns that stand in this file.
                    connection.execute(text(f"SELECT {THEN.get(table, '*')} FROM {table}")),  # noqa: S608
                )
            )
            for table in TABLES
        }
    engine.dispose()
    return found
