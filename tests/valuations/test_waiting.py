"""What a valuation says of a grade of which all that was posted waits; what was kept keeps its words."""

from __future__ import annotations

import hashlib
from typing import Any

import pytest
from tests.api import World
from tests.prices.waiting import FAR, NOBODY, open_market
from tests.valuations.test_methods import PATH, kept

from gradewright.valuations.schemas import ValuationIn

PARTS = [
    {"name": "pipe", "weight": "3 lb", "observed": {"metal": "copper", "steel_screws": False}},
    {"name": "old pipe", "weight": "2 lb", "grade": "copper-no2"},
    {"name": "tin", "weight": "9 lb", "grade": "light-iron"},
]
ASKED: dict[str, Any] = {"region": "XO-KEL", "on": "2026-05-04", "parts": PARTS}
BY_4 = "a719ad004c52e569619a94141a2a0a2f24cf915d67657cc368bfb1618a18666e"
"""The SHA-256 of the bytes that method 4 answered when it was the newest."""


@pytest.fixture
async def market(world_without_rulebook: World) -> World:
    return await open_market(world_without_rulebook)


async def test_a_valuation_says_that_what_was_posted_waits(market: World) -> None:
    """Of each part without a price, and in what is missing; what has a price is counted as ever."""
    found = (await market.send(PATH, {**ASKED, "keep": True})).json()
    assert found["parts"][0]["unpriced"] == FAR
    assert found["parts"][1]["unpriced"].endswith(f", and it would be priced by Copper No. 1. {FAR}")
    assert found["missing"][0] == f"pipe: {FAR}"
    assert (found["totals"]["likely"], found["complete"]) == ("0.81", False)


async def test_what_was_kept_by_method_4_keeps_its_words(market: World) -> None:
    """It said that nobody had posted a price: the bytes of the day are repeated."""
    request = ValuationIn.model_validate(ASKED).request()
    body = (await market.services.valuations.value(request, "4")).body
    assert hashlib.sha256(body).hexdigest() == BY_4
    assert f'"pipe: {NOBODY}"'.encode() in body
    name = await kept(market, "v-by-4-waiting", ASKED, body, "4")
    again = await market.client.post(f"{PATH}/{name}/replay")
    assert (again.status_code, again.content) == (200, body)
