"""A district for the tests of this folder that only read; any kind of database will do."""

from __future__ import annotations

from collections.abc import AsyncIterator

import pytest

from tests.api import World, empty_world, world_without_rulebook
from tests.hauls.asking import open_yards

__all__ = ["world_without_rulebook"]


@pytest.fixture(scope="package")
async def yards(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """Three yards that pay differently."""
    async with empty_world(request, "sqlite") as world:
        yield await open_yards(world)
