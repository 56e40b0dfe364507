"""What members have posted, and what of it was rejected, makes what they weigh; also in lists of long ago."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from tests.api import World, price, settle
from tests.prices.test_histories import NEWEST, rulebook

from gradewright.accounts.service import Role

YARDS = ("low-quay", "tern-row", "cinder-lane")
OLD_HANDS = {"wren": ("3.30", "3.34"), "dunlin": ("3.32", "3.28"), "siskin": ("3.35", "3.31")}
NEW = ("crake", "gannet", "shrike", "heron", "avocet")
THEN = date(2026, 5, 4)


async def long_ago(world: World, *, by_record: bool) -> None:
    """Three old hands have told what is paid until the fourth of May, and five newcomers, three months later,
    what they say was paid on that day: ten times as much, at all yards."""
    document = rulebook(**NEWEST)
    document["pricing"]["standing"]["by_record"] = by_record
    await world.publish(document)
    await settle(world)
    for back in (12, 8, 4, 0):
        for who, (at_one, at_other) in OLD_HANDS.items():
            for yard, amount in zip(YARDS, (at_one, at_other), strict=False):
                await told(world, who, yard, amount, f"2026-05-{4 - back // 4:02}")
        world.later(days=4)
    world.later(days=90)
    for who in NEW:
        for yard in YARDS:
            await told(world, who, yard, "33.0", str(THEN))


async def told(world: World, who: str, yard: str, amount: str, on: str) -> None:
    await world.post(price("copper-no1", amount), who=who, yard=yard, on=on)


async def likely(world: World) -> Decimal:
    return Decimal((await world.priced("copper-no1", region="XO-KEL", on=THEN))["likely"])


async def of_the_series(world: World) -> dict[str, Any]:
    series = await world.get("/v1/prices/XO-KEL/copper-no1/series", from_=THEN, to=THEN)
    return dict(series["points"][0])


@pytest.mark.parametrize("by_record", [True, False])
async def test_newcomers_rewrite_no_list_of_long_ago(
    world_without_rulebook: World, *, by_record: bool
) -> None:
    """Nobody of them claims anything by now. By their record the old hands have full voices and the newcomers
    theirs; in versions before all had full ones, and more newcomers than old hands made the price."""
    world = world_without_rulebook
    await long_ago(world, by_record=by_record)
    assert (await likely(world) < 4) is by_record
    assert Decimal((await of_the_series(world))["likely"]) == await likely(world)


async def test_prices_that_were_rejected_have_their_author_weigh_less(world_without_rulebook: World) -> None:
    """Of two who say otherwise of a yard the lower one is believed where both weigh the same: until what that
    one said of another grade is rejected. Lists known before stay as they were."""
    world = world_without_rulebook
    await world.publish(rulebook(**NEWEST))
    await settle(world)
    for _ in range(3):
        day = world.later(days=3).date().isoformat()
        await told(world, "wren", "low-quay", "3.30", day)
        await told(world, "dunlin", "low-quay", "3.40", day)
    wrong = await world.post(price("light-iron", "0.30"), who="wren", on=day)
    right = await world.post(price("light-iron", "0.10"), who="dunlin", on=day)
    before = await world.revision()
    decision = {"verdict": "rejected", "reason": "nobody pays that"}
    await world.send(f"/v1/postings/{wrong['id']}/decision", decision, "sedge", Role.MAINTAINER)
    for known_at, likely_then in ((before, "3.30"), (right["revision"] + 1, "3.40")):
        asked = {"region": "XO-KEL", "known_at": known_at}
        assert (await world.priced("copper-no1", **asked))["likely"] == likely_then
        span = {"from_": day, "to": day, "known_at": known_at}
        series = await world.get("/v1/prices/XO-KEL/copper-no1/series", **span)
        assert [point["likely"] for point in series["points"]] == [likely_then]
