"""Two districts for the tests of this folder that only read; any kind of database will do."""

from __future__ import annotations

from collections.abc import AsyncIterator

import pytest

from tests.api import World, empty_world, settle, world_without_rulebook
from tests.recoveries.asking import open_shop

__all__ = ["world_without_rulebook"]


@pytest.fixture(scope="package")
async def shop(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """The shipped rulebook, prices of wire and copper, and a benchmark of gold."""
    async with empty_world(request, "sqlite") as world:
        yield await open_shop(world)


@pytest.fixture(scope="package")
async def small(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """A rulebook without words for cables, densities and acids."""
    async with empty_world(request, "sqlite") as world:
        yield await settle(world)
