"""What a price that waits is told to wait for: what does let it go, and what does not."""

from __future__ import annotations

from typing import Any

import pytest
from tests.api import World, price, settle
from tests.prices.test_held import REASON, of
from tests.prices.test_histories import HELD, rulebook

from gradewright.accounts.service import Role

OUTWEIGHED = (
    ", but those who dispute it or lately said otherwise there weigh more than those behind it. It counts "
    "once those behind it, with others who confirm it or say the same of that yard, weigh no less; or once a "
    "maintainer accepts it."
)


@pytest.fixture
async def market(world_without_rulebook: World) -> World:
    """Three yards that six members speak of, each with as much weight as any other."""
    world, document = world_without_rulebook, rulebook()
    document["pricing"]["held"] = HELD
    del document["pricing"]["standing"]
    await world.publish(document)
    await settle(world)
    paid = {"low-quay": ("3.30", "3.40"), "tern-row": ("3.22", "3.35"), "cinder-lane": ("3.36", "3.27")}
    authors = iter(("wren", "dunlin", "siskin", "plover", "avocet", "curlew"))
    for yard, amounts in paid.items():
        for amount in amounts:
            await world.post(price("copper-no2", amount), who=next(authors), yard=yard, on="2026-04-20")
    return world


async def _held(world: World, posting: str, author: str = "shrike") -> dict[str, Any] | None:
    (line,) = (await of(world, posting, author))["prices"]
    held: dict[str, Any] | None = line["held"]
    return held


async def _say(world: World, posting: str, word: str, *who: str) -> None:
    for each in who:
        said = await world.send(f"/v1/postings/{posting}/{word}", REASON, each)
        assert said.status_code == 201, said.text


async def _accept(world: World, posting: str) -> None:
    body = {**REASON, "verdict": "accepted"}
    said = await world.send(f"/v1/postings/{posting}/decision", body, "sedge", Role.MAINTAINER)
    assert said.status_code == 201, said.text


async def test_where_others_lately_said_otherwise_a_second_author_is_not_enough(market: World) -> None:
    """Three others who were there the day before weigh more than two: it is told so, and it goes on waiting
    until as many are behind it.
    """
    for who in ("heron", "gannet", "ouzel"):
        await market.post(price("copper-no2", "3.35"), who=who, yard="cinder-lane", on="2026-05-03")
    posting = await market.post(price("copper-no2", "2.20"), who="shrike", yard="cinder-lane")
    held = await _held(market, posting["id"])
    assert held is not None
    assert held["because"] == "outlier"
    assert held["says"].endswith(
        " It counts once another member confirms it or says the same of that yard, or a settled ticket shows "
        "it, unless those who dispute it or lately said otherwise there weigh more; or once a maintainer "
        "accepts it."
    )
    await _say(market, posting["id"], "confirmation", "wren")
    held = await _held(market, posting["id"])
    assert held is not None
    assert held["says"].endswith(f". Another member says the same{OUTWEIGHED}")
    await _say(market, posting["id"], "confirmation", "plover")
    assert await _held(market, posting["id"]) is None


async def test_what_is_far_off_is_told_of_no_ticket(market: World) -> None:
    """Ten times the price waits for a member or a maintainer: no ticket stands for them there."""
    posting = await market.post(price("copper-no2", "33.0"), who="shrike", yard="cinder-lane")
    held = await _held(market, posting["id"])
    assert held is not None
    assert held["because"] == "far-off"
    assert "ticket" not in held["says"]
    assert held["says"].endswith("; or once a maintainer accepts it.")
    await _accept(market, posting["id"])
    assert await _held(market, posting["id"]) is None


@pytest.mark.parametrize("how", ["confirmations", "prices of their own", "a maintainer"])
async def test_a_disputed_price_is_told_what_lets_it_go(market: World, how: str) -> None:
    """Five dispute what three say of that yard: two more behind it let it go, in either way, or a maintainer;
    one more does not.
    """
    posting = await market.post(price("copper-no2", "3.31"), who="shrike", yard="cinder-lane")
    await _say(market, posting["id"], "dispute", "heron", "gannet", "ouzel", "teal", "dipper")
    held = await _held(market, posting["id"])
    assert held is not None
    assert (held["because"], held["says"]) == (
        "disputed",
        "Members dispute it who weigh more than those behind it. It counts once its author and others who "
        "confirm it or say the same of that yard weigh no less than those who dispute it or lately said "
        "otherwise there; or once a maintainer accepts it.",
    )
    if how == "a maintainer":
        await _accept(market, posting["id"])
    else:
        for last, who in enumerate(("wren", "plover")):
            assert await _held(market, posting["id"]) is not None, last
            if how == "confirmations":
                await _say(market, posting["id"], "confirmation", who)
            else:
                await market.post(price("copper-no2", "3.31"), who=who, yard="cinder-lane")
    assert await _held(market, posting["id"]) is None
