"""Keeping benchmarks in a test: made, and filled from CSV."""

from __future__ import annotations

from typing import Any

import httpx

from gradewright.accounts.service import Role
from tests.api import World, small_rulebook

COPPER = {"slug": "copper", "name": "Copper", "currency": "USD", "unit": "t", "source": "made up for a test"}
CSV = "text/csv"


def following(share: str = "80 %", stale_after: int = 45, **grades: str) -> dict[str, Any]:
    """The small rulebook, in which grades follow benchmarks: copper-no2 the one of copper."""
    document = small_rulebook()
    document["pricing"]["benchmarks"] = {"stale_after": stale_after}
    for slug, benchmark in (grades or {"copper-no2": "copper"}).items():
        document["grades"][slug]["follows"] = {"benchmark": benchmark, "share": share}
    return document


async def make(world: World, **changed: Any) -> httpx.Response:
    """Makes a benchmark, copper unless changed."""
    return await world.send("/v1/benchmarks", {**COPPER, **changed}, "sedge", Role.MAINTAINER)


async def send(
    world: World, text: str, benchmark: str = "copper", media: str = CSV, key: str | None = None, **query: Any
) -> httpx.Response:
    """Sends a file of values, under an idempotency key where one is given."""
    headers = {**await world.key("sedge", Role.MAINTAINER), "Content-Type": media}
    if key is not None:
        headers["Idempotency-Key"] = f'"{key}"'
    asked = {name: str(value).lower() if value in (True, False) else value for name, value in query.items()}
    return await world.client.post(
        f"/v1/benchmarks/{benchmark}/values", content=text.encode(), headers=headers, params=asked
    )


async def keep(world: World, values: dict[str, str], benchmark: str = "copper") -> int:
    """Records values by their days; gives the revision."""
    lines = "".join(f"{day},{value}\n" for day, value in values.items())
    response = await send(world, f"date,value\n{lines}", benchmark, far_off=True)
    assert response.status_code == 201, response.text
    found: int = response.json()["revision"]
    return found
