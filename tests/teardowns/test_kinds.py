"""A device of a kind that nobody has opened yet: what was recorded of others stands in for its parts."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator
from decimal import Decimal
from typing import Any

import pytest
from tests.api import KINDS, Body, World, empty_world, price, settle
from tests.compositions.recording import TREADMILL, record, recorded
from tests.teardowns.devices import BOX, asked
from tests.valuations.market import shipped

from gradewright.teardowns.answer_schemas import TeardownOut
from gradewright.teardowns.schemas import TeardownIn

PATH = "/v1/teardowns"
OF_A_KIND: Body = {"region": "XO-KEL", "hour_rate": "15.00", "kind": "treadmill", "weight": "70 kg"}


@pytest.fixture(scope="module")
async def recorded_world(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """The small district with prices, and three treadmills that two people took apart."""
    async with empty_world(request, KINDS[0]) as world:
        await settle(world)
        await world.post(price("light-iron", "0.16", "kg"), price("copper-no2", "7.00", "kg"))
        await recorded(world, "wren", new_kind=TREADMILL)
        more = [{"grade": "light-iron", "weight": "40 kg"}, {"grade": "Birch", "weight": "6 kg"}]
        await recorded(world, "wren", minutes="50", weight="60 kg", parts=more)
        most = [{"grade": "light-iron", "weight": "40 kg"}, {"grade": "Birch", "weight": "8 kg"}]
        await recorded(world, "sedge", minutes="80", weight="80 kg", parts=most)
        yield world


@pytest.fixture(scope="module")
async def shipped_world(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """The small district under the rulebook that ships, and a treadmill that was taken apart."""
    async with empty_world(request, KINDS[0]) as world:
        await world.publish(shipped("2026.1"))
        await settle(world)
        await world.post(price("light-iron", "0.16", "kg"))
        parts = [{"grade": "light-iron", "weight": "42 kg"}, {"grade": "motors-copper", "weight": "6 kg"}]
        await recorded(world, new_kind={"name": "Treadmill", "grade": "appliances-whole"}, parts=parts)
        yield world


async def told(world: World, **changes: Any) -> Any:
    """A teardown of a kind, expected to be answered as documented."""
    response = await world.send(PATH, {**OF_A_KIND, **changes})
    assert response.status_code in {200, 201}, response.text
    TeardownOut.model_validate_json(response.content)
    return response.json()


async def test_before_anything_is_opened(recorded_world: World) -> None:
    """A treadmill of 70 kg: what it pays whole, and from what to what apart, for how many minutes, with the
    number of records behind that.
    """
    found = await told(recorded_world)
    usual = found["typical"]
    assert found["whole"]["likely"] == "11.20"  # 70 kg at 0.16
    assert (usual["records"], usual["voices"], usual["published"]) == (3, 2, False)
    # 70 kg of the devices pay 42 x 0.16 + 1.4 x 7, 70/60 (40 x 0.16 + 6 x 7), 70/80 (40 x 0.16 + 8 x 7);
    # with three records the extremes are widened by a quarter.
    assert (usual["apart"]["low"], usual["apart"]["high"]) == ("12.39", "70.58")
    assert usual["minutes"] == {"low": "37.5", "likely": "70", "high": "100"}
    assert usual["says"][0] == (
        "Treadmill of 70 kg (154 lb): whole it pays 11.20, apart 12.39 to 70.58 USD at likely prices, for "
        "37.5 to 100 minutes."
    )
    (left,) = (line for line in found["missing"] if line.startswith("what is left of Treadmill"))
    rest = left.split(", ")[1].split(":")[0]
    assert usual["says"][1] == f"In what it pays apart {rest} that no record names count as nothing."
    assert "So few say little" in " ".join(usual["says"])


async def test_its_usual_parts_are_its_parts(recorded_world: World) -> None:
    """The plan is made with the usual shares of its weight, from low to high; what no record names is told as
    missing, and weighing would be worth something where it could change the plan.
    """
    found = await told(recorded_world)
    parts = {one["name"]: one for one in found["plan"]["parts"]}
    assert set(parts) == {"Light iron", "Copper No. 2"}
    copper = parts["Copper No. 2"]["weight"]
    assert float(copper["low_kg"]) < float(copper["kg"]) < float(copper["high_kg"])
    assert found["by_weights"] is not None
    assert any(line.startswith("what is left of Treadmill") for line in found["missing"])
    dear = await told(recorded_world, hour_rate="60", minutes="50")
    assert (dear["minutes"], dear["plan"]["choice"]) == ("0", "sell-whole")
    assert [one["name"] for one in dear["weighing"]["parts"]] == ["Copper No. 2"]


async def test_a_weight_that_changes_the_plan_does(recorded_world: World) -> None:
    """The parts of a kind are shares of its weight: asked with a hair more than the weight that is told,
    another plan is made, and with a hair less the same.
    """
    for rate, weight, now in (("15.00", "70 kg", "open"), ("60", "30 kg", "sell-whole")):
        found = await told(recorded_world, hour_rate=rate, weight=weight)
        assert found["plan"]["choice"] == now
        (change,) = (
            one
            for one in found["changes"]
            if (one["what"], one["number"], one["name"]) == ("weight", 0, "Treadmill")
        )
        assert "and its usual parts with it" in change["says"]
        then = change["then"]["does"]
        at = Decimal(change["becomes"])
        assert (at > Decimal(change["now"])) == (then == "open")
        for more in ("-0.001", "0.001"):
            asked_again = await told(recorded_world, hour_rate=rate, weight=f"{at + Decimal(more)} kg")
            expected = "open" if Decimal(more) > 0 else "sell-whole"
            assert asked_again["plan"]["choice"] == expected


async def test_a_weight_from_low_to_high(recorded_world: World) -> None:
    """A device that was not weighed has the range of its weight in all that is told of it, and weighing it is
    worth something where that could change the plan.
    """
    exactly = await told(recorded_world)
    found = await told(recorded_world, weight={"low": "40 kg", "likely": "70 kg", "high": "120 kg"})
    usual = found["typical"]
    assert usual["weight"] == {"low_kg": "40", "kg": "70", "high_kg": "120", "shown": "70 kg (154 lb)"}
    assert usual["says"][0] == (
        "Treadmill of 40 to 120 kg, likely 70 kg (154 lb): whole it pays 6.40 to 19.20, apart 7.08 to 121.00 "
        "USD at likely prices, for 37.5 to 100 minutes."
    )
    assert found["worth"]["likely"] == exactly["worth"]["likely"]
    for end, weight in (("low", "40 kg"), ("high", "120 kg")):
        there = await told(recorded_world, weight=weight)
        assert found["plan"]["amount"][end] == there["plan"]["amount"][end]
        assert found["worth"][end] == there["worth"][end]
        assert found["by_weights"][end] == there["by_weights"][end]
    dear = await told(
        recorded_world, hour_rate="30", weight={"low": "40 kg", "likely": "70 kg", "high": "120 kg"}
    )
    whole = next(one for one in dear["weighing"]["parts"] if one["number"] == 0)
    # 0.25 x what selling a light one whole is more than opening it, as is planned at the likely weight
    light = await told(recorded_world, hour_rate="30", weight="40 kg")
    likely = await told(recorded_world, hour_rate="30", weight="70 kg")
    assert (dear["plan"]["choice"], light["plan"]["choice"]) == ("open", "sell-whole")
    opened = Decimal(likely["worth"]["likely"]) * 40 / 70 - Decimal(likely["labour"])
    lost = Decimal(light["whole"]["likely"]) - opened
    assert abs(Decimal(whole["gain"]) - lost / 4) <= Decimal("0.01")


async def test_the_same_cautions_wherever_a_kind_is_told(shipped_world: World) -> None:
    """What a kind of device is cautioned of is the same before it is opened and in its teardown; certain is
    what holds for any device of that kind, first of all the charge that its drive keeps.
    """
    found = await told(shipped_world)
    composition = (await shipped_world.client.get("/v1/compositions/treadmill")).json()
    assert [one["id"] for one in found["cautions"]] == [one["id"] for one in composition["cautions"]]
    assert [one["certain"] for one in found["cautions"]] == [
        one["certain"] for one in composition["cautions"]
    ]
    certain = {one["id"] for one in found["cautions"] if one["certain"]}
    assert found["cautions"][0]["id"] == "stored-charge"
    assert certain == {"stored-charge", "mains-lead", "weee-first", "springs-and-glass"}
    assert "external-cables" in {one["id"] for one in found["cautions"]}


async def test_what_counts_as_nothing_is_told(shipped_world: World) -> None:
    """What it pays apart leaves out the parts that nobody has a price for, and what no record names: both are
    said beside it.
    """
    usual = (await told(shipped_world))["typical"]
    assert usual["unpriced"] == ["motors-copper"]
    assert "no price of " in usual["says"][1]
    assert "motor" in usual["says"][1].lower()
    assert (
        usual["says"][2] == "In what it pays apart 22 kg (48 lb 8 oz) that no record names count as nothing."
    )


async def test_without_prices_no_verdict_is_drawn(shipped_world: World) -> None:
    """Where nothing that comes out has a price, whether opening pays cannot be told, and the grades that lack
    one are named in the plan to sell it whole too.
    """
    parts = [{"grade": "motors-copper", "weight": "6 kg"}]
    await recorded(
        shipped_world, kind="fan", new_kind={"name": "Fan", "grade": "appliances-whole"}, parts=parts
    )
    found = await told(shipped_world, kind="fan")
    names = found["plan"]["parts"][0]["name"]
    assert found["typical"]["apart"] is None
    assert "what it pays apart cannot be told" in found["typical"]["says"][0]
    assert f"Nothing that comes out of it has a price: {names}." in found["typical"]["says"]
    assert "cannot be told: there is no price of " in found["says"]
    assert names in found["says"]
    assert "does not pay" not in found["says"]
    assert found["plan"]["opening"]["pays"] == "cannot be told"
    assert any(line.startswith(f"{names}, inside of Fan: ") for line in found["missing"])


async def test_many_without_a_price_are_named_in_short(shipped_world: World) -> None:
    """Of many grades without a price a sentence names the first and says how many more there are; all of them
    stand in `unpriced` and `missing`. Method 1 named all in the sentence.
    """
    grades = ("aluminium-extrusion-painted", "stainless-18-8", "motors-copper", "boards-low", "wire-50")
    parts = [{"grade": grade, "weight": "4 kg"} for grade in grades]
    await recorded(shipped_world, kind="gate", new_kind={"name": "Gate"}, parts=parts)
    of_a_gate = {**OF_A_KIND, "kind": "gate"}
    found = await told(shipped_world, **of_a_gate)
    names = [one["name"] for one in found["plan"]["parts"]]
    assert len(names) == len(found["typical"]["unpriced"]) == len(grades)
    assert "Aluminium extrusion, painted" in names
    short = f"{'; '.join(names[:3])} and 2 more."
    assert found["typical"]["says"][1] == f"Nothing that comes out of it has a price: {short}"
    whole = f"Gate as it is; {'; '.join(names[:2])} and 3 more."
    assert found["says"].endswith(f"cannot be told: there is no price of {whole}")
    assert found["typical"]["says"][2].startswith("In what it pays apart 50 kg (110 lb)")
    assert [name for name in names if any(line.startswith(name) for line in found["missing"])] == names
    request = TeardownIn.model_validate(of_a_gate).request()
    before = json.loads((await shipped_world.services.teardowns.work_out(request, "1")).body)
    assert before["typical"]["says"][1] == f"Nothing that comes out of it has a price: {', '.join(names)}."
    assert before["typical"]["says"][2].startswith("In what it pays apart 50 kg that")


async def test_work_that_takes_a_licence_is_told_as_such(shipped_world: World) -> None:
    """To open a freezer is said first to be for those who hold a licence, with what it pays whole, and then
    by what its cautions are called; to open a treadmill is for anybody. Method 1 said only the latter.
    """
    parts = [{"grade": "light-iron", "weight": "66 kg"}]
    await recorded(shipped_world, kind="freezer", new_kind={"name": "Freezer"}, parts=parts)
    found = await told(shipped_world, kind="freezer", hour_rate="0")
    says = "This work is for those who hold the licence: Refrigerant, Gases in insulation foam."
    assert found["plan"]["choice"] == "open"
    assert found["says"].endswith(says)
    first = "Only with a licence; otherwise leave it whole. "
    assert found["says"].startswith(f"{first}Open Freezer, as long as ")
    assert (found["licence"]["certain"], found["licence"]["cautions"]) == (
        True,
        ["refrigerant", "foam-gases"],
    )
    assert found["licence"]["says"] == says
    request = TeardownIn.model_validate({**OF_A_KIND, "kind": "freezer", "hour_rate": "0"}).request()
    before, after = [
        json.loads((await shipped_world.services.teardowns.work_out(request, method)).body)["says"]
        for method in ("1", "2")
    ]
    assert before == after.removeprefix(first)
    sold = await told(shipped_world, kind="freezer", hour_rate="0", grade="appliances-whole")
    whole = sold["whole"]["likely"]
    assert sold["says"].startswith(
        f"Only with a licence; otherwise sell it whole: {whole} USD. Open Freezer, as long as "
    )
    assert found["plan"]["why"].endswith(says)
    treadmill = await told(shipped_world, hour_rate="0", grade="flat-panels")
    assert treadmill["plan"]["choice"] == "open"
    assert "licence" not in treadmill["says"]
    assert treadmill["licence"] is None


RESTS: list[tuple[Body, str, str]] = [
    ({"charge": "0.05", "per": "kg"}, "-0.05", "0"),
    ({"charge": "4.00"}, "0", "-4.00"),
    ({"charge": "-50.00", "per": "piece"}, "0", "50.00"),
    ({"grade": "light-iron"}, "0.16", "0"),
]


@pytest.mark.parametrize(("leftover", "each", "fixed"), RESTS)
async def test_what_becomes_of_the_rest(recorded_world: World, leftover: Body, each: str, fixed: str) -> None:
    """What no record names counts as it is said to, in the plan and in what the device pays apart, and is
    told with its weight and no longer as missing.
    """
    plain, found = await told(recorded_world), await told(recorded_world, leftover=leftover)
    rest = found["plan"]["opening"]["leftover"]
    counts = round(Decimal(rest["weight"]["kg"]) * Decimal(each) + Decimal(fixed), 2)
    assert (rest["amount"], rest["unpriced"]) == (str(counts), None)
    more = Decimal(found["plan"]["opening"]["comes_to"]) - Decimal(plain["plan"]["opening"]["comes_to"])
    assert abs(more - counts) <= Decimal("0.01")
    assert not any(line.startswith("what is left of") for line in found["missing"])
    assert found["typical"]["says"][1] == (
        f"In what it pays apart {counts} USD are counted for {rest['weight']['shown']} that no record names."
    )
    # Brought to 70 kg, that of 80 stands in the middle of the votes: 40 of it iron, 8 copper, 32 neither.
    likely = Decimal(70) / 80 * (40 * Decimal("0.16") + 8 * 7 + 32 * Decimal(each)) + Decimal(fixed)
    assert found["typical"]["apart"]["likely"] == str(round(likely, 2))


@pytest.mark.parametrize(("leftover", "each", "fixed"), RESTS)
async def test_a_charge_moves_with_the_weight_or_not(
    recorded_world: World, leftover: Body, each: str, fixed: str
) -> None:
    """Asked with a hair less than the weight that is told as changing the plan it is the same plan, and with
    a hair more another, also where something is paid for the rest whatever it weighs. Where no weight is
    told, none changes it.
    """
    for rate in ("30", "60"):
        asked_for: Body = {"hour_rate": rate, "leftover": leftover}
        now = await told(recorded_world, **asked_for)
        found = [one for one in now["changes"] if (one["what"], one["number"]) == ("weight", 0)]
        weights = [("1", True), ("2000", True)]
        if found:
            at = Decimal(found[0]["becomes"])
            beyond = Decimal("0.001").copy_sign(at - Decimal(found[0]["now"]))
            weights = [(str(at - beyond), True), (str(at + beyond), False)]
        for weight, same in weights:
            there = await told(recorded_world, **asked_for, weight=f"{weight} kg", count=1)
            assert (there["plan"]["choice"] == now["plan"]["choice"]) == same, (rate, weight)


async def test_a_grade_and_minutes_of_ones_own(recorded_world: World) -> None:
    """What is known better than by the records is taken instead."""
    found = await told(recorded_world, grade="copper-no2", minutes="9.5")
    assert found["whole"]["likely"] == "490.00"
    assert found["typical"]["minutes"] == {"low": "9.5", "likely": "9.5", "high": "9.5"}
    assert found["typical"]["says"][0].endswith(", for 9.5 minutes.")
    assert found["plan"]["opening"]["minutes"] == "9.5"


async def test_it_is_replayed_whatever_is_recorded_since(world: World) -> None:
    """A kept answer holds what was known of the kind at its revision; asked again, what was recorded since
    counts, at a revision of its own, although no price has changed.
    """
    await world.post(price("light-iron", "0.16", "kg"), price("copper-no2", "7.00", "kg"))
    await recorded(world, "wren", new_kind=TREADMILL)
    first = await world.send(PATH, {**OF_A_KIND, "keep": True}, "wren")
    name = first.headers["teardown-id"]
    await recorded(world, "sedge", minutes="20")
    again = await world.client.post(f"{PATH}/{name}/replay")
    assert again.content == first.content
    now = await told(world)
    assert (first.json()["typical"]["records"], now["typical"]["records"]) == (1, 2)
    assert now["pins"]["revision"] > first.json()["pins"]["revision"]
    pinned = await told(world, known_at=first.json()["pins"]["revision"])
    assert pinned["typical"] == first.json()["typical"]


async def test_what_cannot_be_told_of_a_kind(world: World) -> None:
    """An unknown kind, no minutes and no whole weight in any record, a device beside a kind: each says what
    to give instead, and what a member can record.
    """
    unknown = await world.send(PATH, {**OF_A_KIND, "kind": "treadmil"})
    assert (unknown.status_code, unknown.json()["errors"][0]["pointer"]) == (422, "#/kind")
    await recorded(world, "wren", new_kind=TREADMILL, minutes=None)
    for body, pointer in (
        (OF_A_KIND, "#/minutes"),
        ({**OF_A_KIND, "minutes": "5", "weight": "70"}, "#/weight"),
        ({**OF_A_KIND, "minutes": "5", "grade": "gold"}, "#/grade"),
        ({**OF_A_KIND, "minutes": "5", "leftover": {"grade": "gold"}}, "#/leftover/grade"),
        ({**OF_A_KIND, "minutes": "5", "leftover": {"charge": "1", "per": "ton"}}, "#/leftover/per"),
        ({**OF_A_KIND, "minutes": "5", "leftover": {}}, "#/leftover"),
        ({**OF_A_KIND, "minutes": "5", "leftover": {"grade": "tin", "per": "kg"}}, "#/leftover"),
        (asked(BOX, leftover={"grade": "tin"}), "#"),
        ({**OF_A_KIND, "device": BOX}, "#"),
        (asked(BOX, minutes="5"), "#"),
        ({name: value for name, value in OF_A_KIND.items() if name != "weight"}, "#"),
    ):
        response = await world.send(PATH, body)
        assert response.status_code == 422, response.text
        assert [fault["pointer"] for fault in response.json()["errors"]] == [pointer]
    lacking = (await world.send(PATH, OF_A_KIND)).json()["errors"][0]["detail"]
    assert lacking == (
        "No record of Treadmill tells how long it takes to take one apart. Give the minutes that you need; a "
        "member who has done it can record them."
    )
    await recorded(world, "wren", kind="lathe", new_kind={"name": "Lathe"}, weight=None, minutes=None)
    bare = (await world.send(PATH, {**OF_A_KIND, "kind": "lathe", "weight": "70"})).json()["errors"]
    assert [fault["pointer"] for fault in bare] == ["#/weight", "#/kind", "#/minutes"]
    assert "a member can record one that was weighed before" in bare[1]["detail"]


MINE: Body = {
    "name": "my treadmill",
    "kind": "treadmill",
    "weight": "80 kg",
    "opens": {"how": "all-at-once", "minutes": "20", "leftover": {"grade": "light-iron"}},
    "parts": [{"name": "coil", "weight": "20 kg", "grade": "copper-no2"}, {"name": "tin"}],
}


async def test_a_part_that_nobody_weighed_is_as_usual(recorded_world: World) -> None:
    """A coil of 20 kg out of 80: what is usual of the rest of such devices is what the tin is of the rest of
    this one, from low to high; the answer says so, what that rests on, and what weighing it would be worth.
    """
    typical = (await recorded_world.client.get("/v1/compositions/treadmill")).json()
    share = {part["grade"]: part["share"] for part in typical["parts"]}
    found = await told(recorded_world, kind=None, weight=None, device=MINE)
    coil, tin = found["plan"]["parts"]
    assert "usual" not in coil
    assert (tin["grade"], tin["usual"]["kind"], tin["usual"]["records"]) == ("light-iron", "treadmill", 3)
    of = 1 - Decimal(share["copper-no2"]["likely"])
    for end, name in (("low_kg", "low"), ("kg", "likely"), ("high_kg", "high")):
        expected = min(60 * Decimal(share["light-iron"][name]) / of, Decimal(60))
        assert abs(Decimal(tin["weight"][end]) - expected) < Decimal("0.02")
    assert found["says"].endswith("Not weighed, but as heavy as is usual in Treadmill: tin.")
    assert "3 devices of 2 members" in tin["usual"]["says"]
    assert found["weighing"]["unweighed"] == 1
    assert (found["plan"]["grade"], found["plan"]["outcome"]) == ("light-iron", "named")
    listed = [{**MINE, "parts": None}, *({**part, "within": 0} for part in MINE["parts"])]
    del listed[0]["parts"]
    again = await told(recorded_world, kind=None, weight=None, parts=listed)
    assert again["parts"][2]["weight"] == tin["weight"]


async def test_a_part_that_nobody_weighed_is_no_heavier_than_what_is_left(world: World) -> None:
    """Of one device nine tenths were iron and of the other a tenth: iron may be more of it than all that is
    usually no copper, and still 20 kg of 80 leave no more than 20. Where a device is likely 80 kg, and may be
    70, a coil of 75 leaves 5, and at the least nothing, which is not less than nothing.
    """
    await world.post(price("light-iron", "0.16", "kg"), price("copper-no2", "7.00", "kg"))
    for who, iron, copper, new in (("wren", "90 kg", "10 kg", TREADMILL), ("sedge", "10 kg", "90 kg", None)):
        parts = [{"grade": "light-iron", "weight": iron}, {"grade": "Birch", "weight": copper}]
        await recorded(world, who, new_kind=new, weight="100 kg", parts=parts)
    coil = {"name": "coil", "weight": "60 kg", "grade": "copper-no2"}
    device = {**MINE, "parts": [coil, {"name": "tin"}]}
    tin = (await told(world, kind=None, weight=None, device=device))["plan"]["parts"][1]["weight"]
    assert (tin["kg"], tin["high_kg"]) == ("20", "20")
    unsure = {"low": "70 kg", "likely": "80 kg", "high": "90 kg"}
    device = {**device, "weight": unsure, "parts": [{**coil, "weight": "75 kg"}, {"name": "tin"}]}
    tin = (await told(world, kind=None, weight=None, device=device))["plan"]["parts"][1]["weight"]
    assert (tin["low_kg"], tin["kg"], tin["high_kg"]) == ("0", "5", "15")


async def test_an_unweighed_device_has_parts_as_heavy_as_were_recorded(recorded_world: World) -> None:
    """Of a whole without a weight no shares can be taken: what was recorded in grams counts."""
    device = {**MINE, "weight": None, "parts": [{"name": "iron", "grade": "light-iron"}]}
    found = await told(recorded_world, kind=None, weight=None, device=device)
    (iron,) = found["plan"]["parts"]
    assert (iron["weight"]["kg"], iron["weight"]["low_kg"]) == ("40", "30")
    assert found["plan"]["weight"]["kg"] == "40"


@pytest.mark.parametrize(
    ("part", "says"),
    [
        (
            {"name": "belt"},
            "is none of what usually comes out of Treadmill, Light iron, Copper No. 2: weigh it",
        ),
        ({"name": "more coil", "grade": "copper-no2"}, "is not all of its grade in Treadmill"),
        ({"name": "lump", "observed": {"metal": "copper"}}, "is none of what usually comes out"),
    ],
)
async def test_what_is_no_usual_part_has_to_be_weighed(recorded_world: World, part: Body, says: str) -> None:
    """A part that the composition does not know, or of whose grade some was weighed, is a fault of its
    weight that says what to do.
    """
    device = {**MINE, "parts": [MINE["parts"][0], part]}
    response = await recorded_world.send(PATH, {"region": "XO-KEL", "hour_rate": "15", "device": device})
    assert response.status_code == 422, response.text
    (fault,) = response.json()["errors"]
    assert fault["pointer"] == "#/device/parts/1/weight"
    assert says in fault["detail"]


async def test_a_kind_within_a_device_that_nobody_knows(recorded_world: World) -> None:
    """A kind that is not there is told at its place, with what may have been meant."""
    device = {**MINE, "parts": [{**MINE, "kind": "treadmil", "weight": "10 kg"}]}
    response = await recorded_world.send(PATH, {"region": "XO-KEL", "hour_rate": "15", "device": device})
    assert response.status_code == 422
    (fault,) = response.json()["errors"]
    assert (fault["pointer"], fault["suggestions"]) == ("#/device/parts/0/kind", ["treadmill"])


async def test_a_kind_by_the_name_that_people_have_for_it(recorded_world: World) -> None:
    """A kind that is written as people write it is told by the name that it has; a new one that is no such
    name, with a kind of device as an example.
    """
    device = {**MINE, "kind": "Treadmill"}
    for body, at in (
        ({**OF_A_KIND, "kind": "Treadmill"}, "#/kind"),
        (asked(device), "#/device/kind"),
    ):
        (fault,) = (await recorded_world.send(PATH, body)).json()["errors"]
        assert (fault["pointer"], fault["suggestions"]) == (at, ["treadmill"])
        assert fault["detail"].endswith("write treadmill.")
    response = await record(recorded_world, kind="Geared Door", new_kind={"name": "Geared door"})
    (fault,) = response.json()["errors"]
    assert (fault["pointer"], 'such as "washing-machine"' in fault["detail"]) == ("#/kind", True)


async def test_what_only_those_found_who_did_not_weigh_the_whole(world: World) -> None:
    """Two of three took copper out of theirs and weighed no whole: what share it has nobody knows, and that
    is told, of the kind and of the plan, which was complete without any copper. A part of that grade that
    nobody weighed has to be weighed, where it weighed nothing before.
    """
    await world.post(price("light-iron", "0.16", "kg"), price("copper-no2", "7.00", "kg"))
    iron = {"grade": "light-iron", "weight": "41 kg"}
    await recorded(world, "wren", new_kind=TREADMILL, parts=[iron])
    for who in ("sedge", "heron"):
        await recorded(world, who, weight=None, parts=[iron, {"grade": "Birch", "weight": "2 kg"}])
    found = await told(world)
    says = "only those records have it that do not tell the whole weight, so that how much of it is in"
    assert found["missing"][0].startswith(f"Copper No. 2, inside of Treadmill: {says}")
    assert found["complete"] is False
    assert "cannot be told: nobody knows how much there is of Copper No. 2." in found["says"]
    assert found["plan"]["opening"]["pays"] == "cannot be told"
    assert "Shares are by 1 of them" in " ".join(found["typical"]["says"])
    before = TeardownIn.model_validate(OF_A_KIND).request()
    old = json.loads((await world.services.teardowns.work_out(before, "3")).body)
    assert "copper" not in json.dumps(old["missing"]).lower()
    opened = await told(world, minutes="0", leftover={"grade": "light-iron"}, grade="copper-no2")
    assert "Copper No. 2" in opened["missing"][0]
    windings = {"name": "windings", "grade": "Birch"}
    asked_ = {**OF_A_KIND, "kind": None, "weight": None, "device": {**MINE, "parts": [windings]}}
    response = await world.send(PATH, asked_)
    assert response.status_code == 422, response.text
    assert "No record of Treadmill tells what windings weighs" in response.json()["errors"][0]["detail"]


@pytest.mark.parametrize(
    ("weight", "says"),
    [
        ("700 kg", "700 kg is far more than one {}, such as 10; {}"),
        ({"low": "5 kg", "likely": "9 kg", "high": "70 kg"}, "9 kg is far less than one {}; {}"),
    ],
)
async def test_a_weight_that_no_device_of_the_kind_has(recorded_world: World, weight: Any, says: str) -> None:
    """What weighs far more or less than all that were recorded is taken for one of them only where that is
    told; method 4 scaled it, with the minutes of one.
    """
    response = await recorded_world.send(PATH, {**OF_A_KIND, "weight": weight})
    assert response.status_code == 422, response.text
    (fault,) = response.json()["errors"]
    recorded = "Treadmill weighs by what was recorded, 60 to 80 kg: give `count`, how many they are"
    assert fault["pointer"] == "#/weight"
    assert fault["detail"] == says.format(recorded, "where it is one all the same, `count` 1.")
    one = await told(recorded_world, weight=weight, count=1)
    (rests,) = (line for line in one["typical"]["says"] if line.startswith("One of "))
    assert rests.endswith(
        " than any Treadmill that was recorded, 60 to 80 kg: shares and minutes are of those."
    )
    request = TeardownIn.model_validate({**OF_A_KIND, "weight": weight}).request()
    before = json.loads((await recorded_world.services.teardowns.work_out(request, "4")).body)
    assert before["typical"]["minutes"] == one["typical"]["minutes"]
    assert before["worth"]["likely"] == one["worth"]["likely"]


async def test_several_of_a_kind(recorded_world: World) -> None:
    """Ten treadmills of 700 kg together are ten times one of 70 kg, in ten times the minutes, and a charge
    for the piece is for each.
    """
    left = {"charge": "1.50"}
    one = await told(recorded_world, leftover=left)
    ten = await told(recorded_world, leftover=left, weight="700 kg", count=10)
    assert (ten["plan"]["count"], ten["plan"]["pieces"]) == (10, 10)
    assert [Decimal(ten[name]) for name in ("minutes", "labour")] == [
        10 * Decimal(one[name]) for name in ("minutes", "labour")
    ]
    for end in ("low", "likely", "high"):
        assert abs(Decimal(ten["worth"][end]) - 10 * Decimal(one["worth"][end])) <= Decimal("0.06")
        assert abs(
            Decimal(ten["typical"]["apart"][end]) - 10 * Decimal(one["typical"]["apart"][end])
        ) <= Decimal("0.06")
    assert ten["typical"]["minutes"] == {"low": "375", "likely": "700", "high": "1000"}
    assert ten["typical"]["says"][0].startswith(
        "10 x Treadmill, 700 kg (1543 lb) together: whole they pay 112.00"
    )
    assert not [line for line in ten["typical"]["says"] if "One of" in line]
    response = await recorded_world.send(PATH, {**OF_A_KIND, "count": 0})
    assert [fault["pointer"] for fault in response.json()["errors"]] == ["#/count"]


async def test_what_stands_in_for_a_part_of_a_device_like_no_other(recorded_world: World) -> None:
    """In a device of a kind that weighs far more than those recorded, what nobody weighed is of those."""
    device = {**MINE, "weight": "700 kg"}
    response = await recorded_world.send(PATH, {"region": "XO-KEL", "hour_rate": "15", "device": device})
    assert response.status_code == 200, response.text
    (note,) = response.json()["notes"]
    assert note.startswith(
        f"{MINE['name']}: One of 700 kg weighs far more than any Treadmill that was recorded"
    )
    usual = {**MINE, "weight": "70 kg"}
    response = await recorded_world.send(PATH, {"region": "XO-KEL", "hour_rate": "15", "device": usual})
    assert response.json()["notes"] == []
