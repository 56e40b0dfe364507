"""Asking for hauls, and a district in which copper, steel and boards have prices at three yards."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from gradewright.hauls.answer_schemas import HaulOut
from tests.api import YARDS, Body, World, price, settle
from tests.valuations.market import shipped
from tests.valuations.test_promise import canonical

PATH = "/v1/hauls"
TODAY = datetime(2027, 5, 4, 9, 12, tzinfo=UTC)
PAID: dict[str, list[Body]] = {
    "low-quay": [
        price("copper-no1", "3.70"),
        price("copper-no2", "3.40"),
        price("light-iron", "0.09"),
        price("steel-heavy", "0.13"),
    ],
    "cinder-lane": [
        price("copper-no1", "3.60"),
        price("copper-no1", "4.00", from_weight="100 lb"),
        price("copper-no2", "3.45"),
        price("light-iron", "0.10"),
        price("motors-copper", "0.40", from_weight="50 lb"),
    ],
    "tern-row": [price("copper-no1", "3.65"), price("light-iron", "0.08"), price("brass-yellow", "2.00")],
}


async def open_yards(world: World) -> World:
    """The shipped rulebook, the small district and its prices. Tern Row takes no heavy steel."""
    world.clock.now = TODAY
    await world.publish(shipped("2027.2"))
    words = {"grade": "copper-no1", "from": "2027-04-01"}
    labels = [{"label": "#1 Cu", **words}, {"label": "clean pipe", **words}]
    await settle(world, yards=[{**yard, "labels": labels if not n else []} for n, yard in enumerate(YARDS)])
    for yard, prices in PAID.items():
        await world.post(*prices, yard=yard, on="2027-05-03")
    return world


def bin_of(grade: str, weight: str, name: str | None = None, **more: Any) -> Body:
    """A bin, named as its grade."""
    return {"name": name or grade, "grade": grade, "weight": weight, **more}


async def hauled(world: World, *bins: Body, **asked: Any) -> Any:
    """A haul that is expected to be planned, as documented and in canonical form."""
    if bins:
        asked["bins"] = [*bins]
    if not {"region", "yards", "valuation"} & asked.keys():
        asked["region"] = "XO-KEL"
    response = await world.send(PATH, asked)
    assert response.status_code == 200, response.text
    HaulOut.model_validate_json(response.content)
    assert canonical(response.json()) == response.content
    return response.json()


def where(answer: Any) -> dict[str, list[tuple[int, str, str]]]:
    """By the name of each bin that goes: trip, yard and grade of each of its places."""
    found: dict[str, list[tuple[int, str, str]]] = {}
    for trip in answer["trips"]:
        for stop in trip["stops"]:
            for pile in stop["piles"]:
                for each in pile["bins"]:
                    place = (trip["trip"], stop["yard"], pile["grade"])
                    found.setdefault(each["name"], []).extend([place] * each["lots"])
    return found
