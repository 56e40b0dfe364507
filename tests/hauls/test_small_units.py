"""A currency of small units: a few bins come to thousands of millions of them."""

from __future__ import annotations

import json
from typing import Any

from gradewright.accounts.service import Role
from gradewright.hauls.schemas import HaulIn
from tests.api import World, price
from tests.hauls.asking import PATH, bin_of, hauled, open_yards

ASKED: dict[str, Any] = {
    "yards": ["isle-one", "isle-two"],
    "costs": {"trip": "100000", "stop": "50000"},
    "hold_back": True,
}


async def open_isles(world: World) -> World:
    """Two yards that pay in rupiah, one of them more from 100 kg on."""
    await open_yards(world)
    paid = {"isle-one": [(0, "118000")], "isle-two": [(0, "117000"), (100, "121000")]}
    for slug, known in paid.items():
        yard = {"slug": slug, "name": slug.title(), "region": "XO-KEL", "currency": "IDR", "unit": "kg"}
        assert (await world.send("/v1/yards", yard, "sedge", Role.MAINTAINER)).status_code == 201
        prices = [
            price("copper-no2", each, "kg", **({"from_weight": f"{least} kg"} if least else {}))
            for least, each in known
        ]
        await world.post(*[{**each, "currency": "IDR"} for each in prices], yard=slug, on="2027-05-03")
    return world


async def test_it_is_proved_to_the_last_unit(world_without_rulebook: World) -> None:
    """120 kg at 121,000 less 150,000: no plan leaves more, and the second choice leaves exactly so much less.
    By method 4 each was told with a unit more above it. Kept, it is repeated.
    """
    world, bins = await open_isles(world_without_rulebook), [bin_of("copper-no2", "120 kg")]
    found = await hauled(world, *bins, **ASKED)
    proof = {"proved": True, "bound": "14370000.00", "gap": "0.00", "says": "No plan leaves more."}
    assert (found["left"]["likely"], found["proof"]) == ("14370000.00", proof)
    assert (found["second"]["left"], found["second"]["less"]) == ("14010000.00", "360000.00")
    assert found["second"]["proof"]["proved"]
    request = HaulIn.model_validate({**ASKED, "bins": bins}).request()
    then = json.loads((await world.services.hauls.haul(request, "4")).answer.body)["proof"]
    assert (then["gap"], then["proved"]) == ("0.01", False)
    kept = await world.send(PATH, {**ASKED, "bins": bins, "keep": True})
    replayed = await world.client.post(f"{PATH}/{kept.headers['haul-id']}/replay")
    assert (replayed.status_code, replayed.content) == (200, kept.content)
