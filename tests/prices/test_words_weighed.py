"""Whoever disputes a price weighs by what they have posted themselves, where the rulebook says so."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from tests.api import World, price, settle
from tests.prices.test_aged_prices import YARDS
from tests.prices.test_held import of
from tests.prices.test_histories import HELD, STANDING, rulebook

from gradewright.accounts.service import Role
from gradewright.core.aging import NOTHING_AGES
from gradewright.prices.counting import Asked, standing_of

REASON = {"reason": "not what the board says"}
STRANGERS = ("knot", "stint", "ruff")


async def disputed(world: World, weighed: bool) -> Any:
    """Two old hands at two yards; three accounts that have posted nothing dispute one's newest price."""
    document = rulebook()
    document["pricing"] |= {"held": {**HELD, "words_weighed": weighed}, "standing": STANDING}
    await world.publish(document)
    await settle(world)
    for _ in range(3):
        day = world.later(days=5).date().isoformat()
        newest = await world.post(price("copper-no2", "3.30"), who="wren", yard="low-quay", on=day)
        await world.post(price("copper-no2", "3.35"), who="dunlin", yard="tern-row", on=day)
    for who in STRANGERS:
        said = await world.send(f"/v1/postings/{newest['id']}/dispute", REASON, who)
        assert said.status_code == 201, said.text
    return newest


@pytest.mark.parametrize(("weighed", "status"), [(False, "held"), (True, "counts")])
async def test_accounts_that_have_posted_nothing_dispute(
    world_without_rulebook: World, weighed: bool, status: str
) -> None:
    """By older versions three of them outweigh an old hand; by those that weigh them they do not, and a
    list, a series and the posting say the same."""
    world = world_without_rulebook
    newest = await disputed(world, weighed)
    posting = await of(world, newest["id"], "sedge", Role.MAINTAINER)
    assert [line["status"] for line in posting["prices"]] == [status]
    found = await world.priced("copper-no2", region="XO-KEL")
    # Where it waits, that of five days before stands in its place: three disputes are of one posting.
    assert (found["basis"]["yards"], found["basis"]["oldest"]) == (
        2,
        "2026-05-19" if weighed else "2026-05-14",
    )
    span = {"from": "2026-05-19", "to": "2026-05-19"}
    series = await world.get("/v1/prices/XO-KEL/copper-no2/series", **span)
    assert [point["likely"] for point in series["points"]] == [found["likely"]]


async def test_their_weight_is_that_of_a_first_posting(world_without_rulebook: World) -> None:
    """Who speaks without a claim is weighed too, and as a newcomer."""
    world = world_without_rulebook
    await disputed(world, weighed=True)
    on = date(2026, 5, 19)
    pricing = (await world.services.rulebooks.in_force(on)).rulebook.pricing
    asked = Asked(YARDS, "USD", on, await world.revision(), pricing, NOTHING_AGES)
    async with world.services.database.read() as session:
        standing = await standing_of(session, asked)
    assert {standing[who] for who in STRANGERS} == {Decimal(STANDING["newcomer"])}
    assert standing["wren"] == standing["dunlin"] == 1
