"""Finding out more about a part, held against what the time costs, where a rate is given."""

from __future__ import annotations

from typing import Any

import pytest
from tests.api import World, price, settle, small_rulebook

PATH = "/v1/valuations"
COPPER = {"metal": "copper"}
# Of copper alone two grades are left, each as common, and steel screws decide: 12 seconds of looking, and 6
# to read the question and to answer it.


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    """The small rulebook, in which nothing about copper can hurt anyone."""
    found = small_rulebook()
    del found["cautions"]["dust"]["grades"]
    return found


@pytest.fixture
async def calm(world_without_rulebook: World, document: dict[str, Any]) -> World:
    """The small district, which pays 4.00 for one kind of copper and 3.00 for the other."""
    await world_without_rulebook.publish(document)
    world = await settle(world_without_rulebook)
    await world.post(price("copper-no1", "4.00"), price("copper-residue", "3.00"))
    return world


async def asked(world: World, weight: str, rate: str | None, **more: Any) -> dict[str, Any]:
    """The answer about some copper."""
    part = {"name": "lump", "weight": weight, "observed": COPPER}
    body = {"region": "XO-KEL", "parts": [part], **more}
    response = await world.send(PATH, body if rate is None else {**body, "hour_rate": rate})
    assert response.status_code in {200, 201}, response.text
    return {**response.json(), "id": response.headers.get("valuation-id")}


async def test_a_small_part_is_not_worth_the_minutes(calm: World) -> None:
    """Of 0.05 lb knowing adds 0.05 every other time; 0.3 minutes cost half of that from 5.00 an hour on."""
    for weight, rate, worth in (
        ("0.05 lb", "5", False),
        ("0.05 lb", "4.99", True),
        ("0.06 lb", "5", True),
        ("1000 lb", "99999", True),
        ("0.05 lb", "0", True),
    ):
        line = (await asked(calm, weight, rate))["parts"][0]
        assert (line["next_test"] is not None) is worth, (weight, rate)
        assert ("not_worth" not in line) is worth


async def test_it_is_said_in_money(calm: World) -> None:
    """What knowing adds on average and at most, the minutes and what they cost are told, in members and in
    words; with the rate.
    """
    found = await asked(calm, "0.05 lb", "30.0")
    line = found["parts"][0]
    assert found["hour_rate"] == "30.0"
    assert line["not_worth"] == {
        "cheapest": "copper-residue",
        "dearest": "copper-no1",
        "spread": "0.05",
        "adds": "0.02",
        "minutes": "0.3",
        "costs": "0.15",
    }
    assert line["unpriced"] == (
        "too little is known to choose between 2 grades. Finding out which is not worth it: it adds 0.02 USD "
        "on average, and 0.05 USD at most, and takes 0.3 min, which cost 0.15 USD at that rate. Name one of "
        "them."
    )


async def test_without_a_rate_it_is_a_share_of_the_price(calm: World) -> None:
    """A quarter of the price is worth finding out of the smallest part as long as no rate is given; with one,
    a large lot is worth it though its grades pay within a hundredth of each other.
    """
    assert (await asked(calm, "0.01 lb", None))["parts"][0]["next_test"] is not None
    await calm.post(price("copper-residue", "3.99"))
    without, small, large = [
        (await asked(calm, weight, rate))["parts"][0]
        for weight, rate in (("1000 lb", None), ("1 lb", "30"), ("1000 lb", "30"))
    ]
    assert without["not_worth"]["share"] == "0.25 %"
    assert small["not_worth"]["spread"] == "0.01"
    assert large["next_test"]["attribute"] == "steel_screws"


async def test_a_danger_is_found_out_at_any_cost(world: World) -> None:
    """Residue is dusty: which copper it is is asked for whatever an hour costs, and it is said why."""
    await world.post(price("copper-no1", "4.00"), price("copper-residue", "3.00"))
    line = (await asked(world, "0.05 lb", "1000"))["parts"][0]
    assert "not_worth" not in line
    assert line["in_doubt"] == ["dust"]
    assert line["next_test"] is not None
    assert "Finding out costs more than it adds, but a danger depends on it (Dust)." in line["unpriced"]


async def test_what_has_no_price_is_found_out(calm: World) -> None:
    """A part that can turn out to be of a grade without a price could be worth anything: it is asked on."""
    part = {"name": "lump", "weight": "0.05 lb", "observed": {"sticks_to_magnet": False}}
    response = await calm.send(PATH, {"region": "XO-KEL", "parts": [part], "hour_rate": "1000"})
    assert response.json()["parts"][0]["next_test"] is not None


async def test_the_rate_is_kept(calm: World) -> None:
    """A kept valuation is repeated with its hourly rate, byte for byte."""
    kept = await asked(calm, "0.05 lb", "30", keep=True)
    again = await calm.client.post(f"{PATH}/{kept['id']}/replay")
    assert again.status_code == 200, again.text
    assert again.json()["parts"] == kept["parts"]
    assert "not_worth" in kept["parts"][0]


@pytest.mark.parametrize("rate", ["-1", "1e3", "15 USD", 15, "1000000000", ""])
async def test_what_is_no_rate_is_refused(world: World, rate: Any) -> None:
    """A rate is an amount as plain digits, not below zero; anything else is refused at its place."""
    body = {"region": "XO-KEL", "parts": [{"name": "a", "weight": "1 lb", "observed": COPPER}]}
    response = await world.send(PATH, {**body, "hour_rate": rate})
    assert response.status_code == 422
    assert response.json()["errors"][0]["pointer"] == "#/hour_rate"
