"""The small district is there for every test of this folder."""

from __future__ import annotations

from tests.api import shared, untouched, world, world_without_rulebook

__all__ = ["shared", "untouched", "world", "world_without_rulebook"]
