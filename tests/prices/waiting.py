"""A market in which no two agree: all that was posted of some grades waits."""

from __future__ import annotations

from tests.api import World, price, settle
from tests.prices.test_histories import HELD, rulebook

ASKING = {"wren": ("low-quay", "0.41"), "siskin": ("tern-row", "4.13"), "plover": ("cinder-lane", "41.7")}
"""Who says what of which yard for Copper No. 1: each is more than three times off what the others say."""
FAR = (
    "What was posted for Copper No. 1 in Kelder Bay waits and does not count yet: 3 prices of 3 yards, each "
    "far from what others are paid. Ask a yard, and post what it pays: a price counts as soon as another "
    "member posts or confirms the like at its yard, or a maintainer accepts it."
)
NOBODY = (
    "Nobody has posted a price for Copper No. 1 in Kelder Bay or above it since 2026-04-14, nor for anything "
    "it is priced by. Ask a yard, and post what it pays."
)


async def open_market(world: World) -> World:
    """Three yards: each says something else of Copper No. 1, which Copper No. 2 is priced by; iron counts."""
    document = rulebook()
    document["pricing"]["held"] = {**HELD, "enough_yards": 2}
    await world.publish(document)
    await settle(world)
    for who, (yard, amount) in ASKING.items():
        await world.post(price("copper-no1", amount), who=who, yard=yard, on="2026-05-01")
    await world.post(price("light-iron", "0.09"), who="wren", yard="low-quay", on="2026-05-01")
    return world
