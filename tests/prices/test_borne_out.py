"""What is far off and borne out has its share of a region's price, over the interface."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from tests.api import YARDS, World, price, settle
from tests.prices.test_histories import HELD, rulebook

RULES = {**HELD, "few": {"yards": 2, "factor": "2"}, "enough_yards": 3, "without_any_one": True}
LIMITED = {**RULES, "borne_out_at_most": "10 %"}
HONEST = {"low-quay": "3.30", "cinder-lane": "3.35", "tern-row": "3.40"}
SHEDS = [f"shed-{n}" for n in range(4)]
GRADE = "copper-no2"


async def visited(world: World, held: dict[str, Any]) -> None:
    """Three yards with a witness each, and four where two go who say ten times the price."""
    document = rulebook()
    document["pricing"] |= {"held": held}
    await world.publish(document)
    terms = {"region": "XO-KEL", "currency": "USD", "unit": "lb"}
    sheds = [{"slug": yard, "name": yard.title(), **terms} for yard in SHEDS]
    await settle(world, yards=[*YARDS, *sheds])
    for yard, at in HONEST.items():
        await world.post(price(GRADE, at), who=f"at-{yard}", yard=yard)
    for yard in SHEDS:
        for who in ("kite", "stork"):
            await world.post(price(GRADE, "33.0"), who=who, yard=yard)


@pytest.mark.parametrize(("held", "likely"), [(RULES, "33"), (LIMITED, "3.35")])
async def test_two_at_yards_of_their_own(
    world_without_rulebook: World, held: dict[str, Any], likely: str
) -> None:
    """A list and a series; and each of those yards has the price that two told of it."""
    world = world_without_rulebook
    await visited(world, held)
    line = await world.priced(GRADE, region="XO-KEL")
    assert (Decimal(line["likely"]), line["basis"]["yards"]) == (Decimal(likely), 7)
    today = world.clock().date().isoformat()
    series = await world.get(f"/v1/prices/XO-KEL/{GRADE}/series", **{"from": today, "to": today})
    assert [Decimal(point["likely"]) for point in series["points"]] == [Decimal(likely)]
    shed = await world.priced(GRADE, yard="shed-0")
    assert Decimal(shed["likely"]) == 33
