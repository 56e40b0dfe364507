"""What cannot be worked out is refused with every fault at once, each with its place and what to do."""

from __future__ import annotations

import copy
import re
from collections.abc import AsyncIterator
from typing import Any

import pytest
from tests.api import KINDS, World, empty_world, settle
from tests.teardowns.devices import TREADMILL, Body, asked

from gradewright.teardowns.schemas import TeardownIn

PATH = "/v1/teardowns"


@pytest.fixture(scope="module")
async def district(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """The small district without prices."""
    async with empty_world(request, KINDS[0]) as world:
        yield await settle(world)


async def faults(world: World, device: Body, **more: Any) -> dict[str, str]:
    """What is refused, by its place."""
    response = await world.send(PATH, asked(device, **more))
    assert response.status_code == 422, response.text
    return {fault["pointer"]: fault["detail"] for fault in response.json()["errors"]}


async def listed_faults(world: World, parts: list[Body]) -> dict[str, str]:
    """The same of a device that is given as a list."""
    response = await world.send(PATH, {"region": "XO-KEL", "hour_rate": "15", "parts": parts})
    assert response.status_code == 422, response.text
    return {fault["pointer"]: fault["detail"] for fault in response.json()["errors"]}


async def test_all_faults_of_a_device_at_once(district: World) -> None:
    """Weights, grades, observations, times, units, cautions and lots are all looked at before any is told."""
    device = copy.deepcopy(TREADMILL)
    motor, rail, cord, console = device["parts"]
    motor["weight"] = "9"
    motor["opens"]["leftover"] = {"charge": "1.00", "per": "ton"}
    rail["observed"]["thickness"] = "8"
    rail.pop("minutes")
    cord["observed"] = {"metall": "copper"}
    console["weight"] = {"low": "3 lb", "likely": "2 lb", "high": "4 lb"}
    device["cautions"].append("sharpp")
    found = await faults(district, device, lots={"gold": "1 lb", "Birch": "1"})
    assert set(found) == {
        "#/device/parts/0/weight",
        "#/device/parts/0/opens/leftover/per",
        "#/device/parts/1/observed/thickness",
        "#/device/parts/1/minutes",
        "#/device/parts/2/observed/metall",
        "#/device/parts/3/weight",
        "#/device/cautions/2",
        "#/lots/gold",
        "#/lots/Birch",
    }
    assert "sharp" in found["#/device/cautions/2"]


async def test_no_more_comes_out_than_is_in_it(district: World) -> None:
    """Parts that weigh more than what they are in are a fault of that, for one piece of it."""
    device = copy.deepcopy(TREADMILL)
    device["count"] = 2
    device["parts"][1]["count"] = 10
    device["parts"][1] |= {"weight": "148 lb"}
    found = await faults(district, device)
    assert list(found) == ["#/device/parts"]
    assert "What comes out of treadmill weighs 72.574779 kg" in found["#/device/parts"]


async def test_more_comes_out_than_a_device_that_likely_weighs_nothing(district: World) -> None:
    """A device that may weigh something, and likely nothing, has no part of 5 lb in it; method 4 took it."""
    box = {"name": "box", "grade": "light-iron", "opens": {"how": "all-at-once"}}
    box |= {"weight": {"low": "0 lb", "likely": "0 lb", "high": "9 lb"}}
    box |= {"parts": [{"name": "lid", "weight": "5 lb"}]}
    found = await faults(district, box)
    assert list(found) == ["#/device/parts"]
    assert (
        "What comes out of box weighs 2.267962 kg, more than box itself with 0 kg" in found["#/device/parts"]
    )
    request = TeardownIn.model_validate(asked(box)).request()
    assert (await district.services.teardowns.work_out(request, "4")).body


async def test_a_part_without_a_weight(district: World) -> None:
    """A part that does not open has to be weighed, or guessed from low to high."""
    box = {"name": "box", "opens": {"how": "all-at-once"}, "parts": [{"name": "lid"}]}
    assert list(await faults(district, box)) == ["#/device/parts/0/weight"]


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"minutes": "3"}, "#/device/minutes"),
        ({"must_come_off": True}, "#/device/must_come_off"),
        ({"parts": []}, "#/device"),
        ({"opens": None}, "#/device"),
        ({"weight_each": "1 lb"}, "#/device"),
        ({"observed": {}}, "#/device"),
        ({"weight": 70}, "#/device/weight"),
        ({"count": 0}, "#/device/count"),
        ({"tools": "driver"}, "#/device/tools"),
        ({"opens": {"how": "gently"}}, "#/device/opens/how"),
        ({"opens": {"how": "all-at-once", "minutes": 5}}, "#/device/opens/minutes"),
        (
            {"opens": {"how": "piece-by-piece", "leftover": {"grade": "tin", "charge": "1.00"}}},
            "#/device/opens/leftover",
        ),
        ({"opens": {"how": "piece-by-piece", "leftover": {"per": "kg"}}}, "#/device/opens/leftover"),
    ],
)
async def test_one_fault(district: World, change: Body, pointer: str) -> None:
    """Each fault in the form of a request is told at its own place."""
    assert pointer in await faults(district, {**copy.deepcopy(TREADMILL), **change})


async def test_how_deep_and_how_many(district: World) -> None:
    """Thirty parts in one another are answered, one more is a fault at the innermost; so are too many."""
    device: Body = {"name": "core", "weight": "1 g", "grade": "tin"}
    for depth in range(30):
        device = {"name": f"shell {depth}", "opens": {"how": "all-at-once"}, "parts": [device]}
    found = await faults(district, device)
    assert list(found) == ["#/device" + "/parts/0" * 30]
    assert (await district.send(PATH, asked(device["parts"][0]))).status_code == 200
    many = {
        "name": "bag",
        "opens": {"how": "all-at-once"},
        "parts": [{"name": "bead", "weight": "1 g"}] * 10_000,
    }
    assert "10000 parts" in (await faults(district, many))["#/device"]


async def test_a_list_that_is_no_device(district: World) -> None:
    """Of a list each part says where it is, behind the one that it is in, and that one how it opens."""
    opens = {"how": "all-at-once"}
    parts = [
        {"name": "box", "within": 0, "opens": opens},
        {"name": "lid", "weight": "1 g", "within": 2},
        {"name": "rim", "weight": "1 g", "within": 0},
        {"name": "pin", "weight": "1 g"},
        {"name": "cap", "weight": "1 g", "within": 2},
        {"name": "tin", "weight": "1 g", "within": 0, "opens": opens},
    ]
    found = await listed_faults(district, parts)
    assert {place: re.split("[?:]", text)[0] for place, text in found.items()} == {
        "#/parts/0/within": "The first is the device, which is in nothing",
        "#/parts/1/within": "What is lid in",
        "#/parts/3/within": "What is pin in",
        "#/parts/4/within": "rim does not open",
        "#/parts/5/opens": "Nothing is within tin",
    }
    heavy = [{"name": "box", "weight": "1 g", "opens": opens}, {"name": "lid", "weight": "2 g", "within": 0}]
    assert list(await listed_faults(district, heavy)) == ["#/parts/0"]
    assert list(await listed_faults(district, [{"name": "box"}])) == ["#/parts/0/weight"]
    assert list(await listed_faults(district, [])) == ["#/parts"]
    both = await district.send(PATH, asked(TREADMILL, parts=heavy))
    assert both.json()["errors"][0]["detail"] == "give a device, its parts as a list or a kind: one of them"


async def test_how_many_can_be_this_or_that(district: World) -> None:
    """Of more than two thousand parts whose grade is open none is worked out: the first too many is named."""
    vague = {"name": "bit", "weight": "1 g", "within": 0, "observed": {"metal": "steel"}}
    parts: list[Body] = [{"name": "bag", "opens": {"how": "all-at-once"}}, *[vague] * 2001]
    assert list(await listed_faults(district, parts)) == ["#/parts/2001/observed"]


async def test_the_rate_has_to_be_told(district: World) -> None:
    """What an hour is worth is for the caller to say, as text; nothing is a rate too."""
    body = asked(TREADMILL)
    for given in (None, 15, "-1", "1e3"):
        response = await district.send(PATH, {**body, "hour_rate": given})
        assert response.json()["errors"][0]["pointer"] == "#/hour_rate"
    del body["hour_rate"]
    assert (await district.send(PATH, body)).status_code == 422
    assert (await district.send(PATH, asked(TREADMILL, hour_rate="0"))).status_code == 200
