"""The small district is there for every test of this folder, and a desk at which drafts are written."""

from __future__ import annotations

import pytest

from tests.api import World, world, world_without_rulebook
from tests.drafts.desk import Desk

__all__ = ["world", "world_without_rulebook"]


@pytest.fixture
def desk(world: World) -> Desk:
    """Where the maintainers of the small district write: the test runs once on each kind of database."""
    return Desk(world)
