"""What is answered from memory is what its pin comes to anywhere, also where authors are weighed."""

from __future__ import annotations

from typing import Any

import pytest
from tests.api import World, price, settle
from tests.prices.test_histories import rulebook

from gradewright.accounts.service import Role

GRADE, DAY = "copper-no2", "2026-05-04"
ABROAD = {"region": "XQ", "currency": "USD", "unit": "kg"}


@pytest.fixture
async def district(world_without_rulebook: World) -> World:
    """Two newcomers who say different things of one yard, and a country that has nothing to do with it."""
    world = world_without_rulebook
    await world.publish(rulebook())
    await settle(world)
    country = {"code": "XQ", "name": "Somewhere", "parent": None, "currency": "USD", "unit": "kg"}
    for path, body in (
        ("/v1/regions", country),
        ("/v1/yards", {"slug": "abroad", "name": "Abroad", **ABROAD}),
    ):
        assert (await world.send(path, body, "sedge", Role.MAINTAINER)).status_code == 201
    await world.post(price(GRADE, "3.00"), who="wren", on=DAY)
    await world.post(price(GRADE, "3.30"), who="dunlin", on=DAY)
    return world


async def listed(world: World, **asked: Any) -> Any:
    """The price list of the day."""
    return await world.get("/v1/prices", region="XO-KEL", grade=GRADE, on=DAY, **asked)


async def test_kept_valuations_replay_whatever_is_posted_elsewhere(district: World) -> None:
    """Days go by and an author becomes settled by what they post in another country; each kept valuation
    replays byte for byte all the same."""
    parts = [{"name": "w", "weight": "10 lb", "grade": GRADE}]
    body = {"region": "XO-KEL", "on": DAY, "keep": True, "parts": parts}
    for _ in range(5):
        await listed(district)
        district.later(days=2)
        on = district.clock().date().isoformat()
        await district.post(price(GRADE, "7.00", per="kg"), who="dunlin", yard="abroad", on=on)
        sent = await district.send("/v1/valuations", body)
        again = await district.client.post(f"/v1/valuations/{sent.headers['valuation-id']}/replay")
        assert (again.status_code, again.content) == (200, sent.content)


async def test_a_list_from_memory_is_that_of_its_revision(district: World) -> None:
    """Asked again as known at the revision that it names, by another worker too, the list is the same; what
    is said in its own region is in it at once."""
    await listed(district)
    district.later(days=5)
    for _ in range(3):
        await district.post(price(GRADE, "7.00", per="kg"), who="dunlin", yard="abroad", on="2026-05-09")
    warm = await listed(district)
    async with district.another() as other:
        assert await listed(other, known_at=warm["known_at"]) == warm
    assert await listed(district, known_at=warm["known_at"]) == warm
    await district.post(price(GRADE, "3.10"), who="siskin", on="2026-05-04", yard="tern-row")
    fresh = await listed(district)
    assert fresh["known_at"] == await district.revision()
    assert fresh["prices"][0]["basis"]["yards"] == 2
