"""Recording devices in a test."""

from __future__ import annotations

from typing import Any

import httpx

from gradewright.accounts.service import Role
from tests.api import Body, World

TREADMILL: Body = {"name": "Treadmill", "grade": "tin"}
"""Sold whole as light iron, in the small rulebook."""


def device(**changed: Any) -> Body:
    """A treadmill of 70 kg: two parts by weight, the rest unnamed."""
    return {
        "kind": "treadmill",
        "on": "2026-05-02",
        "weight": "70 kg",
        "minutes": "60",
        "parts": [{"grade": "light-iron", "weight": "42 kg"}, {"grade": "Birch", "weight": "1.4 kg"}],
        **changed,
    }


async def record(world: World, who: str = "wren", **changed: Any) -> httpx.Response:
    """Sends one device; the kind comes along with the first."""
    return await world.send("/v1/compositions", device(**changed), who)


async def recorded(world: World, who: str = "wren", **changed: Any) -> Any:
    """The same, expected to be stored."""
    response = await record(world, who, **changed)
    assert response.status_code == 201, response.text
    return response.json()


async def withdraw(
    world: World, made: Any, who: str, role: Role = Role.MEMBER, kind: str = "treadmill"
) -> httpx.Response:
    """Takes a record back."""
    path = f"/v1/compositions/{kind}/records/{made['id']}/withdrawal"
    return await world.send(path, {"reason": "the scale was off"}, who, role)
