"""Asking for recoveries, and a district in which wire, copper and gold have prices."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from gradewright.recoveries.answer_schemas import RecoveryOut
from tests.api import YARDS, Body, World, price, settle
from tests.benchmarks.keeping import keep, make
from tests.valuations.market import shipped
from tests.valuations.test_promise import canonical
from tests.yards.saying import say

PATH = "/v1/recoveries"
TODAY = datetime(2027, 5, 4, 9, 12, tzinfo=UTC)
CORD: Body = {"cable_kind": "cord", "plug_attached": False, "surface": "bright", "strand_diameter": "1.29 mm"}
CABLE: Body = {
    "conductors": [{"count": 3, "size": "16 AWG", "strands": 1}],
    "weight": "38.0 lb",
    "length": "1000 ft",
    "observed": {"cable_kind": "cord", "plug_attached": False, "surface": "bright"},
}
SAMPLE: Body = {"weight": "512 g", "copper": "297 g", "observed": CORD}
BAND: Body = {"limit": "band_60", "value": "65 %", "says": "the 60 % band begins at 65 %"}
STRIP: Body = {"lot": "10 kg", "minutes_per_kg": "6", "hour_rate": "12"}
BRASS: Body = {"dry": "100.00 g", "in_water": "88.30 g", "water": "20"}
BOARDS: Body = {
    "lot": "25.0 kg",
    "like": "computer-boards",
    "currency": "USD",
    "metals": [
        {"metal": "gold", "price": "2000", "payable": "95 %", "refining": "10"},
        {"metal": "silver", "low": "400 g/t", "high": "900 g/t", "price": "30", "deduction": "100 g/t"},
    ],
    "treatment": "1.50",
    "charge": "150",
}


async def open_shop(world: World) -> World:
    """The shipped rulebook, the small district, a price for each grade of wire and bare copper, and gold."""
    world.clock.now = TODAY
    await world.publish(shipped("2027.2"))
    yards = [{**yard, "labels": [], "refuses": []} for yard in YARDS]
    await settle(world, yards=yards)
    paid = {"wire-50": "2.90", "wire-60": "3.60", "copper-bright": "8.00", "copper-no2": "7.00"}
    for who, yard in (("wren", "low-quay"), ("teal", "cinder-lane"), ("gull-1", "tern-row")):
        lines = [price(grade, amount, "kg") for grade, amount in paid.items()]
        lines.append(price("copper-bright", "8.40", "kg", from_weight="100 kg"))
        await world.post(*lines, yard=yard, on="2027-05-03", who=who)
    assert (await make(world, slug="gold", name="Gold", unit="ozt", currency="USD")).status_code == 201
    await keep(world, {"2027-04-30": "2000"}, "gold")
    await say(world, "/v1/yards/tern-row", from_="2027-04-01", limits=[BAND])
    return world


async def recovered(world: World, **asked: Any) -> Any:
    """A recovery that is expected to be worked out, as documented and in canonical form."""
    response = await world.send(PATH, asked)
    assert response.status_code == 200, response.text
    RecoveryOut.model_validate_json(response.content)
    assert canonical(response.json()) == response.content
    return response.json()
