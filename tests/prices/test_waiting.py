"""Where all that was posted of a grade waits, the answers say so, and nothing of the prices that do."""

from __future__ import annotations

import re
from typing import Any

import pytest
from tests.api import World, price
from tests.prices.waiting import ASKING, FAR, open_market

from gradewright.accounts.service import Role

REASON = {"reason": "as it was told at the gate"}
COPPER = {"metal": "copper", "steel_screws": False}


@pytest.fixture
async def market(world_without_rulebook: World) -> World:
    return await open_market(world_without_rulebook)


async def why(world: World, grade: str, **place: str) -> str:
    """What a price list says of a grade without a price."""
    found = await world.priced(grade, **(place or {"region": "XO-KEL"}))
    because: str = found["because"]
    return because


async def disputed(world: World, posting: dict[str, Any], *members: str) -> None:
    """Members say that they were paid otherwise."""
    for who in members:
        said = await world.send(f"/v1/postings/{posting['id']}/dispute", REASON, who)
        assert said.status_code == 201, said.text


async def test_a_price_list_says_that_what_was_posted_waits(market: World) -> None:
    """How many prices of how many yards, why, and what lets one go; in the region, at a yard, and above."""
    assert await why(market, "copper-no1") == FAR
    assert await why(market, "copper-no1", yard="low-quay") == FAR
    assert await why(market, "copper-no1", region="XO") == FAR.replace("Kelder Bay", "Orvale")


async def test_nothing_of_a_price_that_waits_is_told(market: World) -> None:
    """Neither an amount nor an author nor a yard: whoever reads it knows no more than how many there are."""
    said = (await market.client.get("/v1/prices", params={"region": "XO-KEL"})).text
    assert FAR in said
    for who, (yard, amount) in ASKING.items():
        for told in (who, yard, yard.replace("-", " ").title(), amount):
            assert told not in said
    assert set(re.findall("[0-9]+", FAR)) == {"1", "3"}  # of Copper No. 1, and how many there are


async def test_what_is_priced_by_it_waits_too(market: World) -> None:
    """Nobody has posted Copper No. 2: it would be priced by what waits, and that is told."""
    said = await why(market, "copper-no2")
    assert said == (
        "Nobody has posted a price for Copper No. 2 in Kelder Bay or above it since 2026-04-14, and it would "
        f"be priced by Copper No. 1. {FAR}"
    )


async def test_what_nobody_posted_is_said_as_ever(market: World) -> None:
    """Where nothing waits either, nobody has posted a price."""
    assert await why(market, "steel-heavy") == (
        "Nobody has posted a price for Heavy steel in Kelder Bay or above it since 2026-04-14, nor for "
        "anything it is priced by. Ask a yard, and post what it pays."
    )


async def test_a_disputed_price_is_told_as_one(market: World) -> None:
    """The only price of a grade is disputed by two others: it waits for those who stand behind it."""
    posting = await market.post(price("screws", "0.30"), who="wren", on="2026-05-02")
    await disputed(market, posting, "heron", "avocet")
    assert await why(market, "screws") == (
        "What was posted for Steel screws in Kelder Bay waits and does not count yet: 1 price of 1 yard, "
        "disputed by other members. Ask a yard, and post what it pays: a price counts as soon as enough "
        "others post or confirm the like at its yard, or a maintainer accepts it."
    )


@pytest.mark.parametrize("how", ["another posts the like", "another confirms it", "a maintainer accepts it"])
async def test_what_it_says_lets_one_go_does(market: World, how: str) -> None:
    """Each of the three ways that the answer names makes it a price."""
    (posting,) = (await market.get("/v1/postings", yard="tern-row"))["postings"]
    path = f"/v1/postings/{posting['id']}"
    if how == "another posts the like":
        await market.post(price("copper-no1", "4.1"), who="heron", yard="tern-row")
    elif how == "another confirms it":
        assert (await market.send(f"{path}/confirmation", REASON, "heron")).status_code == 201
    else:
        verdict = {**REASON, "verdict": "accepted"}
        answer = await market.send(f"{path}/decision", verdict, "sedge", Role.MAINTAINER)
        assert answer.status_code == 201
    found = await market.priced("copper-no1", region="XO-KEL")
    paid = "4.1" if how == "another posts the like" else "4.13"
    assert (found["likely"], found["basis"]["yards"]) == (paid, 1)


async def test_a_grading_says_it(market: World) -> None:
    """A grading with a place, of a grade of which all waits, says so behind its reason."""
    body = {"observed": COPPER, "region": "XO-KEL"}
    found = (await market.send("/v1/gradings", body)).json()
    assert (found["grade"], found["price"]) == ("copper-no1", None)
    assert found["says"] == f"Copper No. 1. Clean copper. {FAR}"
    assert "wait" not in (await market.send("/v1/gradings", {"observed": COPPER})).json()["says"]
