"""House rules as tests say them: by a maintainer, over HTTP."""

from __future__ import annotations

from typing import Any

import httpx
from tests.api import Body, World

from gradewright.accounts.service import Role

CINDER_LANE = "/v1/yards/cinder-lane"
KELDER_BAY = "/v1/regions/XO-KEL"
EIGHTH = {
    "limit": "heavy_steel_thickness",
    "value": "1/8 in",
    "says": "heavy steel begins at 1/8 in",
}
"""3.175 mm, where the rulebook has 6.35 mm."""
LIFTED = {"limit": "heavy_steel_thickness", "value": None}


async def sent(world: World, place: str, **said: Any) -> httpx.Response:
    """The answer to house rules said of a place; `from_` stands for `from`."""
    body = {"reason": "Sign at the gate.", **{name.rstrip("_"): value for name, value in said.items()}}
    return await world.send(f"{place}/house-rules", body, "sedge", Role.MAINTAINER)


async def say(world: World, place: str, **said: Any) -> Any:
    """House rules that are expected to be taken; what was added."""
    response = await sent(world, place, **said)
    assert response.status_code == 201, response.text
    return response.json()


def steel(thickness: str = "4 mm") -> Body:
    """A piece of steel, thinner than the rulebook's heavy steel unless said otherwise."""
    return {"metal": "steel", "thickness": thickness}


async def graded(world: World, thickness: str = "4 mm", **where: Any) -> Any:
    """How a piece of steel is graded; a place, a day, a version may be named."""
    response = await world.send("/v1/gradings", {"observed": steel(thickness), **where})
    assert response.status_code == 200, response.text
    return response.json()


async def valued(world: World, **asked: Any) -> httpx.Response:
    """A valuation of one kilogram of steel, 4 mm thick."""
    parts = [{"name": "plate", "weight": "1 kg", "observed": steel()}]
    response = await world.send("/v1/valuations", {"parts": parts, **asked})
    assert response.status_code in {200, 201}, response.text
    return response
