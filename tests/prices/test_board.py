"""The board keeps a bounded number of lists, those asked for last, and makes long ones aside."""

from __future__ import annotations

import asyncio
from datetime import timedelta
from typing import Any

import pytest
from tests.api import World, price

from gradewright.core.pricelist import PriceList
from gradewright.prices import board
from gradewright.prices.board import Place

HERE = Place("XO-KEL")


async def _list(world: World, days_ago: int = 0, known_at: int | None = None) -> PriceList:
    on = world.clock().date() - timedelta(days=days_ago)
    rulebook = (await world.services.rulebooks.in_force(on)).rulebook
    found, _ = await world.services.prices.list_for(HERE, rulebook, on, known_at)
    return found


async def test_todays_list_stays_while_history_is_read(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """A list that is asked for between others stays the same object; the one not asked for is made anew."""
    monkeypatch.setattr(board, "NEWEST_KEPT", 2)
    await world.post(price("copper-no2", "3.35"))
    today, yesterday = await _list(world), await _list(world, 1)
    for days_ago in range(2, 5):
        assert await _list(world) is today
        await _list(world, days_ago)
    assert await _list(world) is today
    assert await _list(world, 1) is not yesterday


async def test_older_revisions_are_kept_by_last_use(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same for lists as they were known at older revisions."""
    monkeypatch.setattr(board, "OLDER_KEPT", 2)
    revision = (await world.post(price("copper-no2", "3.35")))["revision"]
    first, second = await _list(world, 0, revision), await _list(world, 1, revision)
    assert await _list(world, 0, revision) is first
    await _list(world, 2, revision)
    assert await _list(world, 0, revision) is first
    assert await _list(world, 1, revision) is not second


async def test_a_list_of_many_entries_is_worked_out_aside(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Beyond so many entries the same list comes out of a thread, and other requests go on meanwhile."""
    stored = await world.post(price("copper-no2", "3.35"), price("light-iron", "0.05"))
    query = {"region": "XO-KEL", "known_at": stored["revision"]}
    here = await world.get("/v1/prices", on="2026-05-04", **query)
    aside: list[str] = []
    real = asyncio.to_thread

    async def to_thread(work: Any) -> Any:
        aside.append("list")
        return await real(work)

    monkeypatch.setattr(board, "MANY_ROWS", 2)
    monkeypatch.setattr(asyncio, "to_thread", to_thread)
    next_day = await world.get("/v1/prices", on="2026-05-05", **query)
    assert aside
    likely = [[line["grade"], line["likely"]] for line in here["prices"]]
    assert [[line["grade"], line["likely"]] for line in next_day["prices"]] == likely
