"""A ledger that stays as it is: the answers that are held to their bytes were given from it."""

from __future__ import annotations

from datetime import UTC, datetime

from tests.api import REGIONS, Body, World, price, settle
from tests.benchmarks.keeping import keep, make
from tests.valuations.market import shipped
from tests.yards.saying import say

RULEBOOK = "2027.2"
TODAY = datetime(2027, 5, 4, 9, 12, tzinfo=UTC)
# Not those of other tests: what is pinned here must not move when they do.
YARDS: list[Body] = [
    {
        "slug": "low-quay",
        "name": "Low Quay",
        "region": "XO-KEL",
        "currency": "USD",
        "unit": "lb",
        "labels": [
            {"label": "#1 Cu", "grade": "copper-no1", "from": "2027-04-01"},
            {"label": "shred", "grade": "light-iron", "from": "2027-04-01"},
        ],
        "cash_increment": "0.05",
    },
    {
        "slug": "cinder-lane",
        "name": "Cinder Lane",
        "region": "XO-KEL",
        "currency": "USD",
        "unit": "kg",
        "rounding": "half-up",
    },
    {
        "slug": "tern-row",
        "name": "Tern Row",
        "region": "XO-KEL",
        "currency": "USD",
        "unit": "lb",
        "refuses": ["steel-heavy"],
    },
]
PAID: dict[str, list[Body]] = {
    "low-quay": [
        price("copper-no1", "3.70"),
        price("copper-no2", "3.40"),
        price("copper-bright", "3.85"),
        price("wire-50", "1.30"),
        price("wire-60", "1.62"),
        price("light-iron", "0.09"),
        price("steel-heavy", "0.13"),
        price("motors-copper", "0.38"),
        price("boards-low", "0.55"),
    ],
    "cinder-lane": [
        price("copper-no1", "8.05", "kg"),
        price("copper-no1", "8.60", "kg", from_weight="100 lb"),
        price("copper-no2", "7.55", "kg"),
        price("copper-bright", "8.50", "kg"),
        price("wire-50", "2.90", "kg"),
        price("light-iron", "0.21", "kg"),
        price("motors-copper", "0.90", "kg", from_weight="50 lb"),
        price("brass-yellow", "4.60", "kg"),
    ],
    "tern-row": [
        price("copper-no1", "3.65"),
        price("copper-no2", "3.30"),
        price("copper-bright", "3.90"),
        price("wire-60", "1.70"),
        price("light-iron", "0.08"),
        price("brass-yellow", "2.00"),
    ],
}
TREADMILLS: list[tuple[str, str, str, str]] = [
    ("wren", "70 kg", "9.0 kg", "45"),
    ("teal", "64 kg", "7.5 kg", "70"),
    ("gull-1", "82 kg", "10.2 kg", "55"),
]
"""Who took one apart, what it weighed, what its motor did, and the minutes."""


async def open_ledger(world: World) -> World:
    """A rulebook that ships, three yards and their prices, gold, a band, and treadmills taken apart."""
    world.clock.now = TODAY
    await world.publish(shipped(RULEBOOK))
    await settle(world, REGIONS[:2], YARDS)
    for who, (yard, prices) in zip(("wren", "teal", "gull-1"), PAID.items(), strict=True):
        await world.post(*prices, yard=yard, on="2027-05-03", who=who)
    assert (await make(world, slug="gold", name="Gold", unit="ozt", currency="USD")).status_code == 201
    await keep(world, {"2027-04-30": "2000"}, "gold")
    band: Body = {"limit": "band_60", "value": "65 %", "says": "the 60 % band begins at 65 %"}
    await say(world, "/v1/yards/tern-row", from_="2027-04-01", limits=[band])
    for number, (who, weight, motor, minutes) in enumerate(TREADMILLS):
        body: Body = {
            "kind": "treadmill",
            "on": "2027-05-02",
            "weight": weight,
            "minutes": minutes,
            "parts": [
                {"grade": "motors-copper", "weight": motor},
                {"grade": "light-iron", "weight": "48 kg"},
                {"grade": "boards-low", "weight": f"{number + 1} lb"},
            ],
        }
        if not number:
            body["new_kind"] = {"name": "Treadmill", "grade": "appliances-whole"}
        recorded = await world.send("/v1/compositions", body, who)
        assert recorded.status_code == 201, recorded.text
    return world
