"""The small district is there for every test of this folder."""

from __future__ import annotations

from tests.api import shared, untouched, world

__all__ = ["shared", "untouched", "world"]
