"""A database of the version before has no leaves: `gradewright migrate` makes them, serving waits for it."""
# ruff: noqa: S608 - statements made of numbers

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import select
from tests.api import World, price
from tests.ledger.tampering import tampering, url_of
from typer.testing import CliRunner

from gradewright.cli import app as commands
from gradewright.db import migrate
from gradewright.db.leaves import LeafRow, NodeRow, TreeRow
from gradewright.ledger.sealing import seal_missing


async def _fill(world: World) -> None:
    for number in range(1, 9):
        await world.post(
            *[price("copper-no1", f"{number}.5", from_weight=f"{more} lb") for more in range(1, 90)]
        )


async def _tree(world: World) -> list[list[tuple[object, ...]]]:
    """All rows of the tree."""
    async with world.services.database.read() as session:
        return [
            sorted(map(tuple, await session.execute(select(row.__table__))))
            for row in (LeafRow, NodeRow, TreeRow)
        ]


async def test_what_is_sealed_later_is_what_would_have_been_sealed(world: World) -> None:
    """The leaves, nodes and trees made afterwards, in batches, are those of writes that sealed themselves."""
    await _fill(world)
    wanted, told = await _tree(world), []
    with tampering(world) as edit:
        for table in ("leaves", "nodes"):
            edit(f"DELETE FROM {table}")
        edit("DELETE FROM trees WHERE revision > 0")
    assert "not sealed yet" in str(migrate.unfit(url_of(world)))
    sealed = await seal_missing(world.services.database, lambda *step: told.append(step), at_once=5)
    assert await _tree(world) == wanted
    assert sealed == len(wanted[0])
    newest = await world.revision()
    assert told == [*((done, newest) for done in range(5, newest, 5)), (newest, newest)]
    assert migrate.unfit(url_of(world)) is None
    assert await seal_missing(world.services.database, lambda *step: told.append(step)) == 0


async def test_sealing_goes_on_where_it_was_stopped(world: World) -> None:
    """What is sealed already stays, and what is missing behind it is added."""
    await _fill(world)
    wanted = await _tree(world)
    last = wanted[2][-3]
    with tampering(world) as edit:
        edit(f"DELETE FROM trees WHERE revision > {last[0]}")
        edit(f"DELETE FROM leaves WHERE number >= {last[1]}")
        edit(f"DELETE FROM nodes WHERE (number + 1) * 256 > {last[1]}")
    await seal_missing(world.services.database, lambda done, newest: None, at_once=2)
    assert await _tree(world) == wanted


async def test_migrate_seals_and_says_so(
    world: World, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """`gradewright migrate` seals what is missing; the commands that need a sealed history say to run it."""
    await world.post(price("copper-no1", "3.5"))
    with tampering(world) as edit:
        edit("DELETE FROM leaves")
        edit("DELETE FROM trees WHERE revision > 0")
    monkeypatch.setenv("GRADEWRIGHT_DATABASE_URL", url_of(world))
    stopped = await _run("rulebooks", "list")
    assert stopped[0] == 2
    assert "Run: gradewright migrate" in stopped[1]
    done = await _run("migrate")
    assert done[0] == 0, done
    assert "Sealed 13 entries of the history." in done[1]
    assert (await _run("rulebooks", "list"))[0] == 0


async def _run(*arguments: str) -> tuple[int, str]:
    """A command, aside: it runs an event loop of its own."""
    import asyncio

    done = await asyncio.to_thread(CliRunner().invoke, commands, list(arguments))
    return done.exit_code, done.output
