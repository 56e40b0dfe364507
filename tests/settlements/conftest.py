"""The small district with prices at one yard, for every test of this folder."""

from __future__ import annotations

from collections.abc import AsyncIterator

import pytest
from tests.api import World, empty_world, shared, untouched, world, world_without_rulebook
from tests.conftest import KINDS
from tests.settlements.tickets import open_yard

__all__ = ["shared", "untouched", "world", "world_without_rulebook"]


@pytest.fixture
async def yard(world: World) -> World:
    """Low Quay pays for copper and iron, as three others do: the test runs once on each kind of database."""
    return await open_yard(world)


@pytest.fixture(scope="module", params=KINDS)
async def settling(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """The same for a whole module of tests, which keep tickets of their own."""
    async with empty_world(request, request.param) as made:
        yield await open_yard(made, furnish=True)
