"""What would pay beside a valuation: told with it, pinned with it, repeated with it."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator
from typing import Any

import pytest
from tests.api import KINDS, Body, World, empty_world, price, settle
from tests.valuations.market import shipped

from gradewright.valuations.schemas import ValuationIn

PATH = "/v1/valuations"
STEEL = {"metal": "steel", "form": "sheet", "thickness": "1 mm"}
MOTOR = {"assembly": "motor", "winding_metal": "copper"}
PRICES = {"motors-copper": "0.40", "copper-no2": "3.00", "light-iron": "0.10", "compressors": "0.20",
          "appliances-whole": "0.05", "brass-yellow": "2.00"}  # fmt: skip


@pytest.fixture(params=KINDS)
async def bay(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """The small district under a rulebook that ships and weighs authors, with prices per pound."""
    async with empty_world(request, request.param) as world:
        await world.publish(shipped("2026.1"))
        yards = [{"slug": slug, "name": name, "region": "XO-KEL", "currency": "USD", "unit": "lb"}
                 for slug, name in (("low-quay", "Low Quay"), ("cinder-lane", "Cinder Lane"))]  # fmt: skip
        await settle(world, yards=yards)
        tiered = price("brass-yellow", "2.20", from_weight="100 lb")
        for yard, who in (("low-quay", "wren"), ("cinder-lane", "heron")):
            prices = [price(grade, amount) for grade, amount in PRICES.items()]
            await world.post(*prices, *([tiered] if yard == "cinder-lane" else []), yard=yard, who=who)
        yield world


async def taken_apart(world: World, kind: str, who: str = "wren", **changed: Any) -> None:
    """Records a device of 10 lb: a fifth of it copper, the rest iron."""
    body: Body = {
        "kind": kind,
        "on": "2026-05-02",
        "weight": "10 lb",
        "minutes": "9",
        "parts": [{"grade": "copper-no2", "weight": "2 lb"}, {"grade": "light-iron", "weight": "8 lb"}],
        **changed,
    }
    response = await world.send("/v1/compositions", body, who)
    assert response.status_code == 201, response.text


async def valued(world: World, *parts: Body, **more: Any) -> Any:
    """A valuation in the district, of parts that are named by their grade unless they are described."""
    listed = [{"name": f"part {number}", "weight": "10 lb", **part} for number, part in enumerate(parts)]
    response = await world.send(PATH, {"region": "XO-KEL", "parts": listed, **more})
    assert response.status_code == 200, response.text
    return response.json()


NEW_MOTOR = {"new_kind": {"name": "Motor", "grade": "motors-copper"}}


async def test_a_motor_is_pointed_at(bay: World) -> None:
    """What people found in theirs: 6.80 apart against 4.00 whole, for nine minutes; by method 3 and later.
    That is 18.666… an hour: at 18.66, as is told, it still pays, and at 18.67, as method 4 told, it does not.
    """
    await taken_apart(bay, "motor", **NEW_MOTOR)
    found = await valued(bay, {"name": "motor", "observed": MOTOR}, {"grade": "light-iron"})
    (pointer,) = found["pointers"]
    assert found["pins"]["method"] == "8"
    assert {name: pointer[name] for name in ("kind", "part", "device", "devices", "unpriced")} == {
        "kind": "take-apart", "part": 0, "device": "motor", "devices": 1, "unpriced": [],
    }  # fmt: skip
    assert (pointer["gain"], pointer["minutes"], pointer["up_to_per_hour"]) == ("2.80", "9", "18.66")
    assert pointer["says"].startswith(
        "take the motor apart: + 2.80 for 9 minutes, up to 18.66 an hour, by 1 device of one member"
    )
    assert (await valued(bay, {"observed": MOTOR}, hour_rate="18.66"))["pointers"] != []
    assert (await valued(bay, {"observed": MOTOR}, hour_rate="18.67"))["pointers"] == []
    (before,) = await by_method(bay, "4", {"name": "motor", "observed": MOTOR, "weight": "10 lb"})
    assert before["up_to_per_hour"] == "18.67"
    (named,) = (await valued(bay, {"grade": "motors-copper", "count": 2, "weight": "20 lb"}))["pointers"]
    assert (named["minutes"], named["gain"]) == ("18", "5.60")
    assert "(2 of them)" in named["says"]


async def test_a_pile_is_held_for_a_better_price(bay: World) -> None:
    """96 lb of brass are four short of Cinder Lane's better price, in the region and at the yard; at the
    other yard there is nothing to wait for.
    """
    brass = {"grade": "brass-yellow", "weight": "96 lb"}
    (pointer,) = (await valued(bay, brass))["pointers"]
    assert pointer == {
        "kind": "hold",
        "grade": "brass-yellow",
        "yard": "cinder-lane",
        "from_weight": "100 lb",
        "short": {"kg": "1.81436948", "shown": "1.814 kg (4 lb)"},
        "gain": "19.20",
        "says": "hold the yellow brass: 1.814 kg (4 lb) more reaches Cinder Lane's better price, + 19.20",
    }
    assert (await valued(bay, brass, region=None, yard="cinder-lane"))["pointers"] == [pointer]
    assert (await valued(bay, brass, region=None, yard="low-quay"))["pointers"] == []


async def test_a_pile_is_not_held_for_what_another_yard_pays_already(bay: World) -> None:
    """Where Low Quay pays as much for any weight there is nothing to wait for, but at Cinder Lane itself."""
    await bay.post(price("brass-yellow", "2.20"), yard="low-quay", who="wren")
    brass = {"grade": "brass-yellow", "weight": "96 lb"}
    assert (await valued(bay, brass))["pointers"] == []
    assert (await valued(bay, brass, region=None, yard="cinder-lane"))["pointers"] != []


async def test_pointers_are_pinned(bay: World) -> None:
    """What is recorded later changes what is said now, and nothing of what was kept or known then."""
    await taken_apart(bay, "motor", **NEW_MOTOR)
    motor = {"name": "motor", "observed": MOTOR}
    body = {"region": "XO-KEL", "keep": True, "parts": [{**motor, "weight": "10 lb"}]}
    kept = await bay.send(PATH, body)
    await taken_apart(bay, "motor", "heron", minutes="27")
    now = await valued(bay, motor)
    assert now["pins"]["revision"] > kept.json()["pins"]["revision"]
    assert now["pointers"][0]["minutes"] == "18"
    again = await bay.client.post(f"{PATH}/{kept.headers['valuation-id']}/replay")
    assert again.content == kept.content
    then = await valued(bay, motor, known_at=kept.json()["pins"]["revision"])
    assert then == kept.json()
    async with bay.another() as other:
        again = await other.client.post(f"{PATH}/{kept.headers['valuation-id']}/replay")
        assert again.content == kept.content


async def test_opening_what_needs_a_licence_comes_with_its_caution(bay: World) -> None:
    """A compressor that pays more open is pointed at with the caution of its refrigerant, shown in full."""
    await taken_apart(bay, "compressor", new_kind={"name": "Compressor", "grade": "compressors"})
    found = await valued(bay, {"observed": {"assembly": "compressor", "drained": True}})
    (pointer,) = found["pointers"]
    assert "refrigerant" in pointer["cautions"]
    shown = {caution["id"]: caution for caution in found["cautions"]}
    assert set(pointer["cautions"]) <= set(shown)
    assert shown["refrigerant"]["name"] in pointer["says"]
    assert "licence" not in pointer  # it is drained
    assert pointer["says"].startswith("take the ")


async def test_what_is_opened_only_with_a_licence_is_told_so(bay: World) -> None:
    """A freezer holds gases in its foam, also once it is drained: that it is for those who hold a licence
    stands first, and for itself. Method 6 told it behind the cautions, as a rule for all work.
    """
    await taken_apart(bay, "freezer", new_kind={"name": "Freezer", "grade": "appliances-whole"})
    await taken_apart(bay, "motor", **NEW_MOTOR)
    observed = {"assembly": "whole-device", "device_kind": "freezer", "drained": True}
    freezer = {"name": "freezer", "weight": "10 lb", "grade": "appliances-whole"}
    for part in (freezer, {"name": "freezer", "observed": observed}):
        (pointer,) = (await valued(bay, part))["pointers"]
        assert pointer["licence"] is True
        assert pointer["says"].startswith("only with a licence, take the freezer apart: + ")
    (pointer,) = (await valued(bay, {"name": "motor", "observed": MOTOR}))["pointers"]
    assert ("licence" in pointer, "only with" in pointer["says"]) == (False, False)
    (before,) = await by_method(bay, "6", freezer)
    assert ("licence" in before, before["says"].startswith("take the freezer")) == (False, True)


async def test_a_weight_between_those_recorded_is_pointed_at_as_one(bay: World) -> None:
    """One of 10 lb, one of 12 and one of 90: 60 lb are one motor, however far they are off most. By method 6
    they were several.
    """
    await taken_apart(bay, "motor", **NEW_MOTOR)
    for who, weight in (("heron", "12 lb"), ("teal", "90 lb")):
        half = {"grade": "copper-no2", "weight": "2 lb"}
        await taken_apart(bay, "motor", who, weight=weight, parts=[half])
    part = {"name": "motor", "observed": MOTOR, "weight": "60 lb"}
    assert ["about_pieces" in one for one in await by_method(bay, "6", part)] == [True]
    found = (await valued(bay, part))["pointers"]
    assert not any("about_pieces" in one for one in found)


async def test_one_kind_does_not_stand_for_another(bay: World) -> None:
    """A fridge of which nobody has recorded anything is not pointed at by what came out of a dehumidifier."""
    cold = {"grade": "appliances-undrained"}
    await bay.post(price("appliances-undrained", "0.01"), yard="low-quay", who="wren")
    await taken_apart(bay, "dehumidifier", new_kind={"name": "Dehumidifier", **cold})
    fridge = {"assembly": "whole-device", "device_kind": "fridge", "drained": False}
    found = await valued(bay, {"observed": fridge})
    assert (found["parts"][0]["grade"], found["pointers"]) == ("appliances-undrained", [])
    (named,) = (await valued(bay, cold))["pointers"]
    assert named["device"] == "dehumidifier"


async def test_what_is_not_pointed_at(bay: World) -> None:
    """No publication stands for work that was done, a motor out of a treadmill is no treadmill, and a grade
    in which several kinds are sold whole does not say which it is.
    """
    said = {"source": "A survey, 2011"}  # with minutes: only that it is one keeps it from being pointed at
    await taken_apart(bay, "motor", **NEW_MOTOR, **said)
    assert (await valued(bay, {"observed": MOTOR}))["pointers"] == []
    appliance = {"grade": "appliances-whole"}
    await taken_apart(bay, "treadmill", new_kind={"name": "Treadmill", **appliance})
    (named,) = (await valued(bay, appliance))["pointers"]
    assert named["device"] == "treadmill"
    out_of_one = {**MOTOR, "device_kind": "treadmill"}
    assert (await valued(bay, {"observed": out_of_one}))["pointers"] == []
    await taken_apart(bay, "dryer", new_kind={"name": "Dryer", **appliance})
    assert (await valued(bay, appliance))["pointers"] == []
    whole = {"observed": {"assembly": "whole-device", "device_kind": "treadmill"}}
    (pointer,) = (await valued(bay, whole))["pointers"]
    assert pointer["device"] == "treadmill"


async def by_method(world: World, method: str, *parts: Body) -> Any:
    """The pointers that a method tells."""
    request = ValuationIn.model_validate({"region": "XO-KEL", "parts": [*parts]}).request()
    return json.loads((await world.services.valuations.value(request, method)).body)["pointers"]


async def test_a_part_is_of_the_kind_that_it_is_called(bay: World) -> None:
    """Where several kinds are sold whole in a grade, the part's own name says which it is, by slug or name
    and however it is written; by method 4 it said nothing.
    """
    for kind, name in (("treadmill", "Treadmill"), ("tumble-dryer", "Dryer")):
        await taken_apart(bay, kind, new_kind={"name": name, "grade": "appliances-whole"})
    for called, device in {
        "TREADMILL": "treadmill",
        "Tumble  Dryer": "tumble-dryer",
        "dryer": "tumble-dryer",
        "odd machine": None,
        "treadmill belt": None,
    }.items():
        part = {"name": called, "grade": "appliances-whole", "weight": "10 lb"}
        found = (await valued(bay, part))["pointers"]
        assert [pointer["device"] for pointer in found] == ([device] if device else [])
        assert await by_method(bay, "4", part) == []


async def test_a_name_of_two_kinds_says_neither(bay: World) -> None:
    """What one kind is called and another has for its slug is the name of both."""
    whole = {"grade": "appliances-whole"}
    await taken_apart(bay, "fan", new_kind={"name": "Box fan", **whole})
    await taken_apart(bay, "box-fan", new_kind={"name": "Large fan", **whole})
    told = {}
    for called in ("box fan", "fan", "large fan"):
        found = (await valued(bay, {"name": called, **whole}))["pointers"]
        told[called] = [pointer["device"] for pointer in found]
    assert told == {"box fan": [], "fan": ["fan"], "large fan": ["box-fan"]}


async def test_what_is_described_is_more_than_a_name(bay: World) -> None:
    """A motor that is called a treadmill is a motor, steel called so is steel; of a kitchen device of some
    sort the name tells which one.
    """
    await taken_apart(bay, "motor", **NEW_MOTOR)
    for kind, name in (("treadmill", "Treadmill"), ("bread-maker", "Bread maker")):
        await taken_apart(bay, kind, new_kind={"name": name, "grade": "appliances-whole"})

    async def devices(name: str, observed: Body) -> list[str]:
        found = await valued(bay, {"name": name, "observed": observed})
        assert found["parts"][0]["amount"] is not None
        return [pointer["device"] for pointer in found["pointers"]]

    assert await devices("treadmill", MOTOR) == ["motor"]
    assert await devices("treadmill", STEEL) == []
    kitchen = {"assembly": "whole-device", "device_kind": "small-kitchen"}
    assert await devices("bread maker", kitchen) == ["bread-maker"]
    assert await devices("mixer", kitchen) == []
    assert await devices("bread maker", {**kitchen, "device_kind": "treadmill"}) == ["treadmill"]


async def test_a_record_that_waits_is_not_pointed_at_by(bay: World) -> None:
    """Four agree on what is in a motor, and a fifth found nearly nothing but copper: it does not count, and
    the gain is that of the four; by method 4 it did.
    """
    await taken_apart(bay, "motor", **NEW_MOTOR)
    for who in ("heron", "teal", "siskin"):
        await taken_apart(bay, "motor", who)
    copper = [{"grade": "copper-no2", "weight": "9 lb"}, {"grade": "light-iron", "weight": "1 lb"}]
    await taken_apart(bay, "motor", "avocet", parts=copper)
    part = {"name": "motor", "observed": MOTOR, "weight": "10 lb"}
    (pointer,) = (await valued(bay, part))["pointers"]
    assert (pointer["devices"], pointer["gain"]) == (4, "2.80")
    assert "by 4 devices of 4 members" in pointer["says"]
    (before,) = await by_method(bay, "4", part)
    assert before["devices"] == 5


async def test_what_only_those_found_who_did_not_weigh_the_whole(bay: World) -> None:
    """Brass that only a record without a whole has counts as nothing, and the pointer says so."""
    await taken_apart(bay, "motor", **NEW_MOTOR)
    parts = [{"grade": "copper-no2", "weight": "2 lb"}, {"grade": "brass-yellow", "weight": "1 lb"}]
    await taken_apart(bay, "motor", "heron", weight=None, parts=parts)
    part = {"name": "motor", "observed": MOTOR, "weight": "10 lb"}
    (pointer,) = (await valued(bay, part))["pointers"]
    assert (pointer["gain"], pointer["unpriced"]) == ("2.80", [])
    assert "; how much there is of it is not known: Yellow brass" in pointer["says"]
    (before,) = await by_method(bay, "4", part)
    assert "not known" not in before["says"]


async def test_a_bin_of_motors_is_no_motor(bay: World) -> None:
    """Motors of 10 lb: 300 lb that are told as one count as 30 of them, for 30 times the minutes, and the
    count is asked for; with it the answer is the same. By method 5 they took the nine minutes of one.
    """
    await taken_apart(bay, "motor", **NEW_MOTOR)
    part = {"name": "bin of motors", "observed": MOTOR, "weight": "300 lb"}
    (pointer,) = (await valued(bay, part))["pointers"]
    assert {name: pointer[name] for name in ("gain", "minutes", "about_pieces", "up_to_per_hour")} == {
        "gain": "84.00", "minutes": "270", "about_pieces": 30, "up_to_per_hour": "18.66",
    }  # fmt: skip
    assert pointer["says"].startswith(
        "take the bin of motors apart (those recorded weigh 4.5 kg: as some 30 of them; give their count, "
        "or, of one, its weight_each): + 84.00 for 270 minutes, up to 18.66 an hour, by 1 device"
    )
    (counted,) = (await valued(bay, {**part, "count": 30}))["pointers"]
    assert "about_pieces" not in counted
    assert [counted[name] for name in ("gain", "minutes", "up_to_per_hour")] == ["84.00", "270", "18.66"]
    assert (await valued(bay, part, hour_rate="18.67"))["pointers"] == []
    (before,) = await by_method(bay, "5", part)
    assert before["says"].startswith(
        "take the bin of motors apart: + 84.00 for 9 minutes, up to 560.00 an hour, by 1 device of one member"
    )
    assert "about_pieces" not in before


async def test_what_is_like_nothing_that_was_recorded_is_not_pointed_at(bay: World) -> None:
    """Up to three times as heavy as the one motor that was recorded, and down to a third, it is one; lighter
    ones, and several far heavier ones each, are like none that anybody opened. Where three have recorded one,
    what a record of would wait is far off.
    """
    await taken_apart(bay, "motor", **NEW_MOTOR)

    async def told(weight: str, count: int = 1) -> list[str]:
        part = {"observed": MOTOR, "weight": weight, "count": count}
        return [pointer["minutes"] for pointer in (await valued(bay, part))["pointers"]]

    assert await told("30 lb") == ["9"]
    assert await told("30.1 lb") == ["27"]
    assert await told("3.4 lb") == ["9"]
    assert await told("3.3 lb") == await told("62 lb", 2) == []
    assert len(await by_method(bay, "5", {"name": "m", "observed": MOTOR, "weight": "3.3 lb"})) == 1
    for who in ("heron", "teal"):
        await taken_apart(bay, "motor", who)
    # three that are alike: 7/2 of a sixth of 10 lb, by 0.6745, are 8.648… lb
    assert (await told("18.64 lb"), await told("18.65 lb")) == (["9"], ["18"])


async def test_work_on_a_bin_of_motors_takes_the_minutes_of_all(bay: World) -> None:
    """To open a motor takes 15 minutes: 300 lb of them, told as one, are some 30 by what was recorded, so
    that they take 450, as they do once they are counted. By method 6 they took 15, beside what was pointed
    at. What one motor can weigh takes the minutes of one. A tenth of 300 lb at 4.00 and the rest at 0.10 are
    27.00 more than 120.00.
    """
    await taken_apart(bay, "motor", **NEW_MOTOR)
    for yard, who in (("low-quay", "wren"), ("cinder-lane", "heron")):
        await bay.post(price("copper-no2", "4.00"), yard=yard, who=who)
    part = {"name": "bin of motors", "observed": MOTOR, "weight": "300 lb"}

    async def work(part: Body) -> Any:
        (found,) = (await valued(bay, part))["parts"]
        (one,) = found["raises"]
        return one

    found = await work(part)
    assert {name: found[name] for name in ("preparation", "gain", "minutes", "per_hour", "about_pieces")} == {
        "preparation": "open-motor-copper", "gain": "27.00", "minutes": "450", "per_hour": "3.60",
        "about_pieces": 30,
    }  # fmt: skip
    assert [step["minutes"] for step in found["steps"]] == ["450"]
    counted = await work({**part, "count": 30})
    assert "about_pieces" not in counted
    assert counted == {name: value for name, value in found.items() if name != "about_pieces"}
    assert (await work({**part, "weight": "30 lb"}))["minutes"] == "15"
    asked = {"region": "XO-KEL", "parts": [part]}
    request = ValuationIn.model_validate(asked).request()
    (before,) = json.loads((await bay.services.valuations.value(request, "6")).body)["parts"]
    assert [one["minutes"] for one in before["raises"]] == ["15"]
    assert "about_pieces" not in before["raises"][0]


async def test_one_that_is_told_to_weigh_so_much_is_one(bay: World) -> None:
    """A motor of 40 lb is some four by what was recorded, unless that is told to be the weight of each: then
    it is one, in the minutes of those recorded, and that is said. By method 7 nobody could tell.
    """
    await taken_apart(bay, "motor", **NEW_MOTOR)
    part: Body = {"name": "great motor", "observed": MOTOR, "weight_each": "40 lb"}
    (pointer,) = (await told_each(bay, part))["pointers"]
    assert "about_pieces" not in pointer
    assert pointer["minutes"] == "9"
    assert pointer["says"].startswith("take the great motor apart (those recorded weigh 4.5 kg): + ")
    (pair,) = (await told_each(bay, {**part, "count": 2}))["pointers"]
    assert (pair["minutes"], pair["says"][:58]) == (
        "18", "take the great motor apart (2 of them) (those recorded wei",
    )  # fmt: skip
    (before,) = await by_method(bay, "7", {"name": "m", "observed": MOTOR, "weight_each": "40 lb"})
    assert (before["about_pieces"], before["minutes"]) == (4, "36")


async def told_each(world: World, part: Body) -> Any:
    """A valuation of one part, without a weight of all."""
    response = await world.send(PATH, {"region": "XO-KEL", "parts": [part]})
    assert response.status_code == 200, response.text
    return response.json()


async def test_raw_metal_is_no_device(bay: World) -> None:
    """Where one kind alone is recorded as sold whole in a grade, a piece of that grade is none of it for
    that: a frame that was described, or light iron that was only named, is not taken apart. Of a grade that
    only built things are of, what is named alone is. By method 7 all were doors.
    """
    await taken_apart(bay, "door", new_kind={"name": "Door", "grade": "light-iron"})
    await taken_apart(bay, "motor", **NEW_MOTOR)
    frame = {"name": "frame", "observed": {"metal": "steel", "form": "tube", "thickness": "2 mm"}}
    named = {"name": "sheet", "grade": "light-iron"}
    for part in (frame, named):
        assert (await valued(bay, part))["pointers"] == []
        (before,) = await by_method(bay, "7", {"weight": "10 lb", **part})
        assert before["device"] == "door"
    (motor,) = (await valued(bay, {"grade": "motors-copper"}))["pointers"]
    assert motor["device"] == "motor"
    (called,) = (await valued(bay, {"name": "door", "grade": "light-iron"}))["pointers"]
    assert called["device"] == "door"


async def test_a_weight_near_one_that_was_recorded_is_like_it(bay: World) -> None:
    """What three found to weigh 3 and 10 lb at the extremes is like that up to half as much again: a hair
    beyond the heaviest was far more than one, by method 7.
    """
    await taken_apart(bay, "motor", **NEW_MOTOR)
    for who, pounds in (("heron", 3), ("teal", 30), ("wren", 10)):
        scaled = [{"grade": "copper-no2", "weight": f"{pounds / 5} lb"}]
        await taken_apart(bay, "motor", who, weight=f"{pounds} lb", parts=scaled)
    part: Body = {"name": "m", "observed": MOTOR}
    for weight, now, then in (("30.1 lb", None, 3), ("45 lb", None, 4), ("45.1 lb", 5, 5)):
        (pointer,) = (await valued(bay, {**part, "weight": weight}))["pointers"]
        assert pointer.get("about_pieces") == now
        (before,) = await by_method(bay, "7", {**part, "weight": weight})
        assert before["about_pieces"] == then
