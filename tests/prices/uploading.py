"""Sends whole lists, as files, to the small district."""

from __future__ import annotations

from typing import Any

import httpx
from tests.api import World

from gradewright.accounts.service import Role

CSV, LINES = "text/csv", "application/x-ndjson"


async def upload(
    world: World,
    body: str | bytes,
    who: str | None = "wren",
    *,
    media: str = CSV,
    yard: str = "low-quay",
    key: str | None = None,
    role: Role = Role.MEMBER,
    **query: str,
) -> httpx.Response:
    """POSTs a list, of a written list of 2026-05-04 unless said otherwise."""
    headers = {"Content-Type": media, **(await world.key(who, role) if who else {})}
    if key is not None:
        headers["Idempotency-Key"] = key
    asked = {"observed_on": "2026-05-04", "evidence": "written-list", **query}
    content = body if isinstance(body, bytes) else body.encode()
    return await world.client.post(f"/v1/yards/{yard}/lists", params=asked, content=content, headers=headers)


async def dry_run(world: World, body: str | bytes, **more: Any) -> Any:
    """The comparison of a list that nothing is stored of."""
    response = await upload(world, body, dry_run="true", **more)
    assert response.status_code == 200, response.text
    return response.json()


async def uploaded(world: World, body: str | bytes, **more: Any) -> Any:
    """The answer to a list that is expected to be stored."""
    response = await upload(world, body, **more)
    assert response.status_code == 201, response.text
    return response.json()


async def export(world: World, *, accept: str = CSV, yard: str = "low-quay", **query: Any) -> httpx.Response:
    """A yard's list as a file."""
    asked = {name: str(value) for name, value in query.items()}
    response = await world.client.get(f"/v1/yards/{yard}/lists", params=asked, headers={"Accept": accept})
    assert response.status_code == 200, response.text
    return response
