"""On which conditions a plan holds, and which weights are like those that were recorded: method 6."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator
from typing import Any

import pytest
from tests.api import KINDS, Body, World, empty_world, price, settle
from tests.compositions.recording import TREADMILL, recorded
from tests.teardowns.devices import asked
from tests.teardowns.test_kinds import OF_A_KIND, PATH, told
from tests.teardowns.test_teardowns import of, torn_down
from tests.valuations.market import shipped

from gradewright.core.errors import Refused
from gradewright.teardowns.schemas import TeardownIn

WEIGHTS = ("14 kg", "80 kg", "830 kg")


@pytest.fixture(scope="module")
async def wide(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """Three people took a treadmill apart: a light one, one of 80 kg and a heavy one."""
    async with empty_world(request, KINDS[0]) as world:
        await settle(world)
        await world.post(price("light-iron", "0.16", "kg"), price("copper-no2", "7.00", "kg"))
        for who, weight, new in zip(
            ("wren", "sedge", "heron"), WEIGHTS, (TREADMILL, None, None), strict=True
        ):
            share = [{"grade": "light-iron", "weight": f"{float(weight.split()[0]) / 2:g} kg"}]
            await recorded(world, who, new_kind=new, weight=weight, parts=share)
        yield world


@pytest.fixture(scope="module")
async def unheard_of(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """Kinds of which the rulebook that ships has no word: a door, a cooler, and a computer with a tube."""
    async with empty_world(request, KINDS[0]) as world:
        await world.publish(shipped("2026.1"))
        await settle(world)
        await world.post(price("light-iron", "0.16", "kg"))
        iron = {"grade": "light-iron", "weight": "30 kg"}
        drained, full = (
            {"grade": grade, "weight": "9 kg"} for grade in ("compressors", "compressors-undrained")
        )
        for kind, parts in (
            ("geared-door", [iron]),
            ("computer-and-screen", [iron]),
            ("beer-cooler", [iron, drained]),
            ("old-cooler", [iron, full]),
        ):
            await recorded(world, kind=kind, new_kind={"name": kind.replace("-", " ")}, parts=parts)
        yield world


async def by_method(world: World, method: str, **changes: Any) -> Any:
    """A teardown of a kind by an earlier method."""
    request = TeardownIn.model_validate({**OF_A_KIND, **changes}).request()
    return json.loads((await world.services.teardowns.work_out(request, method)).body)


@pytest.mark.parametrize("weight", ["14 kg", "20 kg", "400 kg", "830 kg"])
async def test_a_weight_between_those_recorded_is_like_them(wide: World, weight: str) -> None:
    """What lies between the lightest and the heaviest that was recorded is one of them, however far it is off
    most: it is answered without a count, and nothing is said of it. Method 5 told it is less than any.
    """
    found = await told(wide, weight=weight)
    assert not [line for line in found["typical"]["says"] if line.startswith("One of ")]
    before = await by_method(wide, "5", weight=weight, count=1)
    assert [line for line in before["typical"]["says"] if line.startswith("One of ")]


@pytest.mark.parametrize("weight", ["3 kg", "2600 kg"])
async def test_a_weight_beyond_all_recorded_needs_its_count(wide: World, weight: str) -> None:
    """What is lighter or heavier than all of them, and far off, is still taken only with its count."""
    response = await wide.send(PATH, {**OF_A_KIND, "weight": weight})
    assert [fault["pointer"] for fault in response.json()["errors"]] == ["#/weight"]
    device = {**of("mill", weight, parts=[of("iron", None)]), "kind": "treadmill"}
    del device["parts"][0]["weight"]
    device["parts"][0]["grade"] = "light-iron"
    device["opens"] = {"how": "all-at-once", "minutes": "1"}
    (note,) = (await torn_down(wide, device))["notes"]
    assert "than any Treadmill that was recorded, 14 to 830 kg" in note
    device["weight"] = "20 kg"
    assert (await torn_down(wide, device))["notes"] == []


async def test_a_plan_holds_up_to_what_the_rest_costs(wide: World) -> None:
    """Where the plan opens a device of which something is left that nobody named, it says first up to what
    cost of that it holds, rounded down, and for itself how much it is and from where another plan is better.
    """
    found = await told(wide, hour_rate="0", weight="80 kg", grade="copper-no2")
    assert found["plan"]["choice"] == "sell-whole"
    assert [limit["what"] for limit in found["unnamed"]["limits"]] == ["brings"]
    found = await told(wide, hour_rate="1.00", weight="80 kg", grade="steel-heavy")
    assert (found["whole"], found["licence"]) == (None, None)
    (costs,) = found["unnamed"]["limits"]
    # 40 kg of iron pay 6.40, the hour 1.00: 5.40 for 40 kg, which are 88.18 lb: 0.0612 a pound
    assert found["unnamed"]["weight"]["kg"] == "40"
    assert (costs["what"], costs["more_than"], costs["per"]) == ("costs", "0.062", "lb")
    assert costs["then"] == {"number": 0, "name": "Treadmill", "does": "sell-whole"}
    first = (
        "Open Treadmill, as long as what nobody named of it costs no more than 0.061 USD per lb: 6.40 USD "
    )
    assert found["says"].startswith(first)
    assert costs["says"] in found["says"]
    named = await told(wide, hour_rate="1.00", weight="80 kg", leftover={"grade": "light-iron"})
    assert named["unnamed"] is None
    before = await by_method(wide, "5", hour_rate="1.00", weight="80 kg", grade="steel-heavy")
    assert before["says"].startswith("Open Treadmill: 6.40 USD ")
    assert not {"unnamed", "licence"} & before.keys()


async def test_a_plan_that_holds_at_no_cost(wide: World) -> None:
    """Where the plan brings hardly anything, what is left has to cost nothing."""
    found = await told(wide, hour_rate="6.39", weight="80 kg", grade="steel-heavy")
    assert found["plan"]["choice"] == "open"
    assert "as long as what nobody named of it costs nothing: " in found["says"]


async def test_nothing_that_would_have_been_seen(unheard_of: World) -> None:
    """Of a kind that the rulebook has no word for it is told what may hurt whoever opens any device, but for
    a refrigerant where no compressor came out of those that were taken apart; one that was drained points at
    it too. Method 5 told it of a door.
    """
    gases = {"refrigerant", "refrigerant-statement", "foam-gases"}
    for kind, pointed in (("geared-door", False), ("beer-cooler", True), ("old-cooler", True)):
        found = await told(unheard_of, kind=kind, hour_rate="0")
        assert found["plan"]["choice"] == "open"
        ids = {one["id"] for one in found["cautions"]}
        assert bool(ids & gases) == pointed
        assert "lithium-cells" in ids
        assert (found["licence"] is not None) == pointed
        assert (found["licence"] or {}).get("certain", False) is False
        assert ("Refrigerant" in found["says"]) == pointed
        composition = (await unheard_of.client.get(f"/v1/compositions/{kind}")).json()
        assert {one["id"] for one in composition["cautions"]} == ids
    before = await by_method(unheard_of, "5", kind="geared-door", hour_rate="0")
    assert gases & {one["id"] for one in before["cautions"]}


async def test_a_tube_that_a_kind_is_named_for(unheard_of: World) -> None:
    """A computer with a tube screen has a picture tube for certain: opening it is for those who hold the
    licence.
    """
    found = await told(unheard_of, kind="computer-and-screen", hour_rate="0")
    assert [one["id"] for one in found["cautions"] if one["certain"]] == ["picture-tube"]
    assert (found["licence"]["certain"], found["licence"]["cautions"]) == (True, ["picture-tube"])
    assert found["says"].startswith("Only with a licence; otherwise leave it whole. Open ")


async def test_what_is_certain_is_not_mixed_with_what_may_be(unheard_of: World) -> None:
    """Where it is certain that opening takes a licence, those cautions are named that say so: not what may
    take one as well.
    """
    core = of("core", "20 kg")
    opens = {"how": "all-at-once", "minutes": "1"}
    whole = {"observed": {"assembly": "whole-device"}, "opens": opens, "parts": [core]}
    found = await torn_down(unheard_of, of("set", "30 kg", cautions=["picture-tube"], **whole))
    assert "refrigerant" in found["plan"]["possible_cautions"]
    assert (found["licence"]["certain"], found["licence"]["cautions"]) == (True, ["picture-tube"])
    perhaps = await torn_down(unheard_of, of("set", "30 kg", **whole))
    assert perhaps["licence"]["certain"] is False
    assert "refrigerant" in perhaps["licence"]["cautions"]


async def test_only_what_is_opened_leaves_something_over(wide: World) -> None:
    """Of a box that is opened all is named. That nobody said what would be left of the can in it, which is
    sold as it is, is no condition of the plan; nor is it of a box that is sold whole: there it is told what
    would be left of the box itself.
    """
    at_once = {"how": "all-at-once", "minutes": "1"}
    can = of("can", "10 kg", grade="copper-no2", opens=at_once, parts=[of("pin", "1 kg")])
    named = {**at_once, "leftover": {"grade": "light-iron"}}
    found = await torn_down(wide, of("box", "40 kg", opens=named, parts=[can]), hour_rate="0")
    assert (found["plan"]["choice"], found["unnamed"]) == ("open", None)
    assert any(line.startswith("what would be left of can, 9 kg") for line in found["missing"])
    whole = of("box", "40 kg", grade="copper-no2", opens=at_once, parts=[can])
    found = await torn_down(wide, whole, hour_rate="0")
    assert (found["plan"]["choice"], found["unnamed"]["weight"]["kg"]) == ("sell-whole", "30")


async def test_what_is_heavy_only_by_what_is_in_it_is_not_held_against_records(wide: World) -> None:
    """Nobody weighed the mill, and its iron is as heavy as in those that were recorded: it rests on no share
    of a weight that is unlike theirs. Many mills of a usual weight each are like them too.
    """
    opens = {"how": "all-at-once", "minutes": "1"}
    iron = {"name": "iron", "grade": "light-iron"}
    mill = {"name": "mill", "kind": "treadmill", "opens": opens}
    stone = of("stone", "2000 kg", grade="copper-no2")
    assert (await torn_down(wide, {**mill, "parts": [stone, iron]}))["notes"] == []
    for weight, notes in (("80 kg", 0), ("2600 kg", 1)):
        twenty = {**mill, "count": 20, "weight_each": weight, "parts": [iron]}
        assert len((await torn_down(wide, twenty))["notes"]) == notes


async def test_a_rest_that_scales_differ_by_is_none(wide: World) -> None:
    """Parts that come to all but one part in a hundred of a device are all of it, as two scales have it:
    nothing is said of what no record names. By method 5 it was; of more than that it is.
    """
    for kind, iron, told_of in (("neat-box", "69.3 kg", False), ("other-box", "68 kg", True)):
        parts = [{"grade": "light-iron", "weight": iron}]
        await recorded(wide, kind=kind, new_kind={"name": "Box"}, parts=parts)
        said = " ".join((await told(wide, kind=kind))["typical"]["says"])
        assert ("that no record names" in said) is told_of
        assert "that no record names" in " ".join((await by_method(wide, "5", kind=kind))["typical"]["says"])


async def test_sentences_end(wide: World) -> None:
    """Why a part counts as nothing ends before it is told whether opening it pays. It ran on in method 5."""
    pin = of("pin", "0.5 kg", grade="screws")
    lid: Body = of("lid", "1 kg", opens={"how": "all-at-once", "minutes": "1"}, parts=[pin])
    del lid["grade"]
    found = await torn_down(wide, lid)
    assert "name what a yard takes it as. Whether opening lid pays cannot be told" in found["plan"]["why"]


async def test_what_cannot_be_told_is_a_sentence(world: World) -> None:
    """Where nothing has a price it is told what cannot be told, and what it takes."""
    await recorded(world, new_kind=TREADMILL)
    two = await told(world, weight="140 kg", count=2, minutes="40")
    assert two["typical"]["says"][0] == (
        "2 x Treadmill, 140 kg (309 lb) together: nobody is known to buy them whole, and what they pay apart "
        "cannot be told. That takes 80 minutes."
    )
    before = await by_method(world, "5", weight="140 kg", count=2, minutes="40")
    assert before["typical"]["says"][0] == (
        "2 x Treadmill, 140 kg (309 lb): nobody is known to buy it whole, what they pay apart cannot be told"
        ", for 80 minutes."
    )


async def test_a_lot_of_nothing(wide: World) -> None:
    """A lot of no weight is refused at its place."""
    device = of("box", "1 lb", grade="tin")
    response = await wide.send(PATH, asked(device, lots={"tin": "0 lb"}))
    (fault,) = response.json()["errors"]
    assert (fault["pointer"], fault["detail"].startswith("A lot of nothing is none")) == ("#/lots/tin", True)


async def test_what_opening_pays_is_not_known_without_a_price_to_hold_it_against(wide: World) -> None:
    """Where neither the device nor all that comes out of it has a price, it cannot be told whether opening it
    pays, nor up to which rate. By method 6 the latter was told beside the former.
    """
    part = of("coil", "1 kg", grade="copper-no2")
    box = of("box", "2 kg", opens={"how": "all-at-once", "minutes": "60"}, parts=[part, of("pin", "0.5 kg")])
    del box["grade"], box["parts"][1]["grade"]
    found = await torn_down(wide, box, hour_rate="60.00")
    assert found["plan"]["choice"] == "leave"
    assert "Whether opening box pays cannot be told" in found["says"]
    assert found["plan"]["opening"]["pays"] == "cannot be told"
    request = TeardownIn.model_validate(asked(box, hour_rate="60.00")).request()
    before = json.loads((await wide.services.teardowns.work_out(request, "6")).body)
    assert before["plan"]["opening"]["pays"] == "below a rate"


async def test_a_weight_near_one_that_was_recorded_is_like_it(wide: World) -> None:
    """As records that are within a half of each other say the same, so does what weighs so much: 13 kg is
    like the one of 14 kg, and 9 kg is not. By method 6 13 kg was far less than any, and needed a count.
    """
    found = await told(wide, weight="13 kg")
    assert not [line for line in found["typical"]["says"] if line.startswith("One of ")]
    for weight, method in (("13 kg", "6"), ("9 kg", "7")):
        with pytest.raises(Refused, match="is far less than one"):
            await by_method(wide, method, weight=weight)
    assert (await told(wide, weight="1244 kg"))["typical"]["says"]
    with pytest.raises(Refused, match="is far more than one"):
        await by_method(wide, "7", weight="1246 kg")
