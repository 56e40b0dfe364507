"""Decisions on a grade of which all that was posted waits: it is told, and what was kept keeps its words."""

from __future__ import annotations

import hashlib
from collections.abc import AsyncIterator

import pytest
from tests.answers.test_bytes import AUTHOR, by_method
from tests.api import KINDS, REGIONS, Body, World, empty_world, price, settle
from tests.prices.waiting import FAR, NOBODY, open_market
from tests.recoveries.asking import CABLE, STRIP, TODAY
from tests.valuations.market import shipped

COPPER: Body = {"grade": "copper-no1", "weight": "10 lb"}
TIN: Body = {"name": "tin", "grade": "light-iron", "weight": "9 lb"}
PAID = [{"label": "#1 Cu", "net": "10 lb", "price": "3.50", "amount": "35.00"}]
TICKET: Body = {"number": "T-1", "on": "2026-05-04", "lines": PAID, "total": "35.00"}
HERE: Body = {"region": "XO-KEL", "currency": "USD", "unit": "kg"}
HAULED = "No yard asked about has {} for Copper No. 1. Post what one pays, or ask with estimates."
BARE = {"west-slip": "0.8", "east-slip": "8", "north-slip": "80", "south-slip": "800"}
"""What each of four yards pays for a kilogram of bare copper."""
ASKED: dict[str, tuple[Body, str, str, str]] = {
    "/v1/teardowns": (
        {"region": "XO-KEL", "on": "2026-05-04", "hour_rate": "12", "device": {"name": "pipe", **COPPER}},
        "3",
        NOBODY,
        FAR,
    ),
    "/v1/settlements": (
        {"yard": "low-quay", "ticket": TICKET, "against": {"bins": [COPPER]}},
        "2",
        NOBODY.replace("Kelder Bay", "Low Quay"),
        FAR,
    ),
    "/v1/hauls": (
        {"region": "XO-KEL", "on": "2026-05-04", "bins": [{"name": "pipes", **COPPER}, TIN]},
        "2",
        HAULED.format("posted a price of its own"),
        HAULED.format("a price of its own that counts"),
    ),
}
"""By what is asked: the request, the method that was the newest before, what that said, and what is said."""
BEFORE = {
    "/v1/teardowns": "72e924b2dd9550070a064e64f161b6efec296cf041d39f989a3141d48e62cf6c",
    "/v1/settlements": "e60b3caeb2ea8ccc15ec09d57bafd92b44074f5986eb395e4081f617f3acc152",
    "/v1/hauls": "908974efc4089179b6996382742d9b2f8199f05e11292f0e1030f1749d427f31",
    "/v1/recoveries": "0bee6d5cade7b30b20c2a3ea65e173ee8b94a7b9dbc29ecc3f354b1e3f50adf6",
}
"""The SHA-256 of the bytes that were answered by the method that was the newest before."""


@pytest.fixture(scope="module", params=KINDS)
async def market(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """The market in which no two agree on copper."""
    async with empty_world(request, request.param) as world:
        yield await open_market(world)


async def told(world: World, path: str, body: Body, method: str, before: str, now: str) -> None:
    """The newest method has the new words; the one before answers as it did, as what was kept is repeated."""
    answered = await world.send(path, body, AUTHOR)
    assert answered.status_code == 200, answered.text
    assert int(answered.json()["pins"]["method"]) > int(method)
    assert now in answered.text
    assert before not in answered.text
    old = await by_method(world, {"path": path, "request": body}, method)
    assert hashlib.sha256(old).hexdigest() == BEFORE[path]
    assert before.encode() in old


@pytest.mark.parametrize("path", ASKED)
async def test_what_was_posted_and_waits_is_told(market: World, path: str) -> None:
    """Of a device, a ticket's bin and a bin to haul, where the method before told it as posted by nobody."""
    await told(market, path, *ASKED[path])


@pytest.fixture(params=KINDS)
async def shop(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """The shipped rulebook, and four yards: they agree on wire, and no two of them on bare copper."""
    async with empty_world(request, request.param) as world:
        world.clock.now = TODAY
        await world.publish(shipped("2027.2"))
        await settle(world, REGIONS[:2], [{**HERE, "slug": slug, "name": slug} for slug in BARE])
        for number, (yard, bare) in enumerate(BARE.items()):
            wire = [price("wire-50", "2.90", "kg"), price("wire-60", "3.60", "kg")]
            lines = [*wire, price("copper-bright", bare, "kg")]
            await world.post(*lines, yard=yard, who=f"gull-{number}", on="2027-05-03")
        yield world


async def test_a_cable_is_told_of_copper_that_waits(shop: World) -> None:
    """Stripping is compared with what its copper pays: where all of that waits, this is what is wanting."""
    asked = {"cable": {**CABLE, "strip": STRIP}, "region": "XO-KEL", "on": "2027-05-04"}
    before = "Nobody has posted a price for Bare bright copper wire in Kelder Bay"
    now = "for Bare bright copper wire in Kelder Bay waits and does not count yet: 4 prices of 4 yards, each "
    await told(shop, "/v1/recoveries", asked, "2", before, now)
