"""Teardowns over HTTP: the plan and its figures, at any rate, what is not known, what would change it."""

from __future__ import annotations

import copy
import hashlib
import json
from collections.abc import AsyncIterator, Iterator
from decimal import Decimal
from itertools import pairwise
from typing import Any

import pytest
from tests.api import KINDS, World, empty_world, price, settle
from tests.teardowns.devices import MOTOR, TREADMILL, Body, asked, grown
from tests.valuations.test_disputed import disputed

from gradewright.answers.pins import canonical
from gradewright.teardowns.answer_schemas import TeardownOut
from gradewright.teardowns.figures import for_people
from gradewright.teardowns.schemas import TeardownIn

PATH = "/v1/teardowns"
CHARGE = {"charge": "2.00", "per": "piece"}


async def with_prices(world: World) -> World:
    """The small district with prices."""
    await settle(world)
    await world.post(price("copper-no1", "4.00"), price("steel-heavy", "0.14"), price("light-iron", "0.075"))
    await world.post(price("copper-no2", "3.30"), price("copper-no2", "3.50", from_weight="20 lb"))
    await world.post(price("copper-residue", "0.90"))
    return world


@pytest.fixture(scope="module")
async def priced(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """The district on one kind of database, for tests that only ask for figures."""
    async with empty_world(request, KINDS[0]) as world:
        yield await with_prices(world)


async def torn_down(world: World, device: Body, **more: Any) -> Any:
    """A teardown that is expected to be answered, as documented."""
    response = await world.send(PATH, asked(device, **more))
    assert response.status_code in {200, 201}, response.text
    TeardownOut.model_validate_json(response.content)
    return response.json()


def nodes(plan: Any) -> Iterator[Any]:
    """The nodes of a plan, the device first."""
    yield plan
    for part in plan["parts"]:
        yield from nodes(part)


def node(found: Any, name: str) -> Any:
    """One node of an answer by its name."""
    return next(one for one in nodes(found["plan"]) if one["name"] == name)


def of(name: str, weight: str | Body, **more: Any) -> Body:
    """A part of light iron, unless said otherwise."""
    return {"name": name, "weight": weight, **({} if "observed" in more else {"grade": "light-iron"}), **more}


async def test_an_hour_is_never_said_to_bring_more_than_opening_pays_at(priced: World) -> None:
    """11.925 more for 11 minutes are 65.045… an hour: both that and the rate up to which it pays are told as
    65.04, rounded down.
    """
    motor = copy.deepcopy(MOTOR)
    motor["parts"][0]["weight"] = "6 lb"
    motor["opens"]["minutes"] = "11"
    del motor["minutes"]
    opening = (await torn_down(priced, motor))["plan"]["opening"]
    assert (opening["per_hour"], opening["up_to"]) == ("65.04", "65.04")


async def test_a_treadmill_worked_out_by_hand(priced: World) -> None:
    """150 lb of light iron at 0.075 are 11.25. Apart, 9 lb of motor at 0.90, 30 lb of rail at 0.14, a cord at
    the least that it can be and 110 lb that are left come to 21.45, for 5 + 6 + 2 times 1.5 + 0.5 minutes.
    """
    found = await torn_down(priced, TREADMILL)
    assert (found["whole"]["likely"], found["worth"]["likely"]) == ("11.25", "21.45")
    assert (found["minutes"], found["labour"], found["net"]) == ("14.5", "3.62", "17.83")
    assert (found["gain"], found["per_hour"]) == (
        "10.20",
        "42.20",
    )  # 42.206…, rounded down as the rate up to which it pays
    assert {one["name"]: one["choice"] for one in nodes(found["plan"])} == {
        "treadmill": "open",
        "drive motor": "sell-whole",
        "windings": "stay-inside",
        "rail": "sell-whole",
        "cord": "sell-whole",
        "console": "stay-on",
    }
    assert found["says"].startswith(
        "Open treadmill: 21.45 USD instead of 11.25 whole, 10.20 more for 14.5 min"
    )
    left = node(found, "treadmill")["opening"]["leftover"]
    assert (left["weight"]["shown"], left["amount"]) == ("49.9 kg (110 lb)", "8.25")


async def test_what_is_left_over_is_a_lot_like_a_part(priced: World) -> None:
    """Copper No. 2 pays 3.30, from 20 lb 3.50: what is left over counts as so heavy a lot, beside parts of
    that grade that are lighter, and not as heavy as the device that it is left of; nor does what nobody
    weighed, which is the device less its parts.
    """
    opens: Body = {"how": "all-at-once", "minutes": "1", "leftover": {"grade": "copper-no2"}}
    for whole, amount in (("22 lb", "56.10"), ("25 lb", "70.00")):  # 17 lb at 3.30, 20 lb at 3.50
        device = of("box", whole, opens=opens, parts=[of("coil", "5 lb", grade="copper-no2")])
        for how in ("all-at-once", "piece-by-piece"):
            off = {} if how == "all-at-once" else {"minutes": "0", "must_come_off": True}
            part = {**device["parts"][0], **off}
            asked_ = {**device, "opens": {**opens, "how": how}, "parts": [part]}
            found = await torn_down(priced, asked_)
            assert found["plan"]["opening"]["leftover"]["amount"] == amount
    before = TeardownIn.model_validate(asked({**device, "weight": "22 lb"})).request()
    old = json.loads((await priced.services.teardowns.work_out(before, "3")).body)
    assert old["plan"]["opening"]["leftover"]["amount"] == "59.50"
    for left, part, amount in (
        ("10 lb", "5 lb", "33.00"),
        ("20 lb", "5 lb", "70.00"),
        ("4 lb", "5 lb", "13.20"),
    ):
        opens = {"how": "all-at-once", "minutes": "1", "leftover": {"grade": "copper-no2", "weight": left}}
        device = of("box", "30 lb", opens=opens, parts=[of("coil", part, grade="copper-no2")])
        found = await torn_down(priced, device)
        assert found["plan"]["opening"]["leftover"]["amount"] == amount


async def test_each_opening_says_up_to_which_rate_it_pays(priced: World) -> None:
    """The motor's windings and shell bring less than the motor: at no rate. With three times the copper they
    bring 11.92 more for 9 minutes, up to 79.50 an hour; at that rate and above it is sold whole.
    """
    poor = node(await torn_down(priced, TREADMILL), "drive motor")["opening"]
    assert (poor["pays"], poor["up_to"], poor["gain"]) == ("at no rate", None, "-0.98")
    rich = copy.deepcopy(MOTOR)
    rich["parts"][0]["weight"] = "6 lb"
    del rich["minutes"]
    opening = (await torn_down(priced, rich))["plan"]["opening"]
    # 6 lb at 3.30 and 3 lb at 0.075, less 9 lb at 0.90: 11.925 for 9 minutes
    assert (opening["pays"], opening["gain"], opening["per_hour"]) == ("below a rate", "11.92", "79.50")
    assert opening["up_to"] == "79.50"
    below, at = [await torn_down(priced, rich, hour_rate=rate) for rate in ("79.49", "79.50")]
    assert (below["plan"]["choice"], at["plan"]["choice"]) == ("open", "sell-whole")


@pytest.mark.parametrize("device", [TREADMILL, grown(60, 4)], ids=["treadmill", "grown"])
async def test_the_schedule_is_what_asking_at_each_rate_tells(priced: World, device: Body) -> None:
    """Just above the rate at which a step begins, the plan comes to what the step says, in its minutes, and
    what stops at a step is done below it and not above.
    """
    found = await torn_down(priced, device, hour_rate="0")
    steps = found["schedule"]
    assert (steps[0]["worth"], steps[0]["minutes"]) == (found["worth"]["likely"], found["minutes"])
    assert steps[-1]["to_rate"] is None
    for before, step in pairwise(steps):
        rate = Decimal(step["from_rate"])
        at = await torn_down(priced, device, hour_rate=str(rate + Decimal("0.01")))
        assert (at["worth"]["likely"], at["minutes"]) == (step["worth"], step["minutes"])
        assert before["to_rate"] == step["from_rate"]
        below = await torn_down(priced, device, hour_rate=str(max(rate - Decimal("0.01"), Decimal(0))))
        for stop in step["stops"]:
            lower, higher = node(below, stop["name"]), node(at, stop["name"])
            if stop["what"] == "open":
                assert (lower["choice"], higher["choice"] == "open") == ("open", False)
            else:
                assert (lower["choice"] in {"open", "sell-whole"}, higher["choice"]) == (True, "stay-on")


@pytest.mark.parametrize("rate", ["0", "9.99", "60"])
async def test_the_figures_of_the_parts_are_those_of_the_plan(priced: World, rate: str) -> None:
    """Over the parts that the plan gets to, what is sold and left over is its worth to the cent each, its
    openings and takings off are its minutes exactly; what is left of the worth is after the time.
    """
    for seed in range(4):
        found = await torn_down(priced, grown(80, seed), hour_rate=rate)
        paid, minutes, figures = Decimal(0), Decimal(0), 0
        for one in nodes(found["plan"]):
            if one["choice"] == "sell-whole":
                paid, figures = paid + Decimal(one["amount"]["likely"]), figures + 1
            if one["choice"] == "open":
                left = one["opening"]["leftover"]["amount"]  # of a grade without a price there is none
                paid, figures = paid + Decimal(left or 0), figures + 1
                minutes += Decimal(one["opening"]["minutes"])
            if one["choice"] in {"sell-whole", "open"} and one["taking_off"]:
                minutes += Decimal(one["taking_off"]["minutes"])
        assert abs(paid - Decimal(found["worth"]["likely"])) <= (figures + 1) * Decimal("0.005")
        assert minutes == Decimal(found["minutes"])
        assert Decimal(found["net"]) == Decimal(found["worth"]["likely"]) - Decimal(found["labour"])
        gain = Decimal(found["worth"]["likely"]) - Decimal(found["whole"]["likely"])
        assert Decimal(found["gain"]) == gain


async def test_nothing_is_silently_nothing(priced: World) -> None:
    """What nobody knows anything of, what is undecided and what is left over without a word are named, with
    what would settle it, as long as the plan gets to them; only then is it incomplete.
    """
    device = copy.deepcopy(TREADMILL)
    del device["opens"]["leftover"]
    device["opens"]["how"] = "all-at-once"
    for part in device["parts"]:
        part.pop("minutes")
    found = await torn_down(priced, device, hour_rate="0")
    told = dict(line.split(": ", 1) for line in found["missing"])
    assert found["complete"] is False
    assert set(told) == {
        "cord counts as the cheapest that it can be",
        "console",
        "what is left of treadmill, 48.99 kg (108 lb)",
    }
    assert "look at it" in told["console"]
    assert "Any steel screws?" in told["cord counts as the cheapest that it can be"]
    console = node(found, "console")
    assert (console["choice"], console["outcome"], console["amount"]) == ("leave", "unknown", None)
    cord = node(found, "cord")
    assert (cord["outcome"], cord["amount"]) == (
        "undecided",
        {"low": "0.81", "likely": "0.90", "high": "4.40"},
    )
    assert {one["grade"] for one in cord["candidates"]} == {"copper-no1", "copper-residue"}
    assert cord["next_test"]["attribute"] == "steel_screws"
    whole = await torn_down(priced, of("box", "10 lb"))
    assert (whole["complete"], whole["missing"], whole["plan"]["choice"]) == (True, [], "sell-whole")


SPARSE: Body = {
    "name": "cabinet",
    "weight": "20 lb",
    "grade": "light-iron",
    "opens": {"how": "all-at-once", "minutes": "5"},
    "parts": [of("coil", "0.25 lb", grade="copper-no2")],
}


async def test_what_would_be_left_over_and_nobody_named(priced: World) -> None:
    """20 lb at 0.075 are 1.50; a coil is 0.82, for 5 minutes at 12 an hour. The other 19.75 lb, of which
    nobody said anything, are told, and that they would have to bring 1.675 over 19.75 lb: just beyond that
    it is opened, at less it is not.
    """
    found = await torn_down(priced, SPARSE, hour_rate="12")
    assert found["says"] == (
        "Sell cabinet whole: 1.50 USD, unless what is left of it brings more than 0.085 USD per lb. Opening "
        "it would bring 0.68 less, with 8.958 kg (19 lb 12 oz) left over that nobody named, and that counts "
        "as nothing."
    )
    assert found["complete"] is False
    (missing,) = found["missing"]
    assert missing.startswith("what would be left of cabinet, 8.958 kg (19 lb 12 oz): nobody said what")
    assert found["plan"]["opening"]["pays"] == "cannot be told"
    assert "left over that nobody named" in found["plan"]["why"]
    for brings, choice in (("-0.0849", "open"), ("-0.0848", "sell-whole")):
        device = copy.deepcopy(SPARSE)
        device["opens"]["leftover"] = {"charge": brings, "per": "lb"}
        named = await torn_down(priced, device, hour_rate="12")
        assert (named["plan"]["choice"], named["complete"], "unless" in named["says"]) == (
            choice,
            True,
            False,
        )


async def test_parts_that_are_nearly_all_of_it_leave_nothing_to_name(priced: World) -> None:
    """What two scales may differ by, two parts in a hundred, is nothing that is left over."""
    device = {**SPARSE, "parts": [of("panels", "19.7 lb")]}
    found = await torn_down(priced, device, hour_rate="12")
    assert (found["plan"]["choice"], found["complete"]) == ("sell-whole", True)


async def test_an_opened_device_says_what_its_rest_may_cost(priced: World) -> None:
    """Opened for 2 lb of copper, the 18 lb that nobody named count as nothing: it is said from which charge
    on it is better whole.
    """
    device = {**SPARSE, "parts": [of("coil", "2 lb", grade="copper-no2")]}
    found = await torn_down(priced, device, hour_rate="12")
    assert (
        "it counts as nothing. Where it costs more than 0.228 USD per lb it is better to sell"
        in found["says"]
    )
    for costs, choice in (("0.227", "open"), ("0.229", "sell-whole")):
        device["opens"] = {**SPARSE["opens"], "leftover": {"charge": costs, "per": "lb"}}
        assert (await torn_down(priced, device, hour_rate="12"))["plan"]["choice"] == choice


async def test_a_grade_without_a_price_says_why(priced: World) -> None:
    """What is graded and has no price counts as nothing, and its grade's line says what would settle it."""
    found = await torn_down(priced, of("bag of screws", "1 lb", grade="screws"))
    assert found["whole"] is None
    assert "Nobody has posted a price for Steel screws" in found["missing"][0]
    assert [one["grade"] for one in found["prices"] if one["unpriced"]] == ["screws"]


async def test_a_device_that_nobody_buys_whole_is_opened(priced: World) -> None:
    """Where nothing is known to be paid for the whole, what comes out of it is the gain."""
    box = {"name": "box", "opens": {"how": "all-at-once", "minutes": "3"}, "parts": [of("lid", "40 lb")]}
    found = await torn_down(priced, box)
    assert (found["whole"], found["gain"], found["plan"]["choice"]) == (None, "3.00", "open")
    assert found["plan"]["weight"]["shown"] == "18.14 kg (40 lb)"
    assert found["complete"] is True


async def test_a_charge_for_what_is_left(priced: World) -> None:
    """To be rid of what is left costs by the piece or by the weight; less than nothing is paid."""
    lid = of("lid", "10 lb", grade="copper-no1")
    tube = {"name": "tube", "count": 2, "weight": "60 lb", "parts": [lid]}
    opens = {"how": "all-at-once", "minutes": "1", "cost": "0.25"}
    by_piece = await torn_down(priced, {**tube, "opens": {**opens, "leftover": {**CHARGE, "name": "glass"}}})
    assert by_piece["worth"]["likely"] == "75.50"  # 2 x (10 lb at 4.00 - 2.00 - 0.25)
    left = by_piece["plan"]["opening"]["leftover"]
    assert (left["name"], left["amount"], left["charge"]) == (
        "glass",
        "-4.00",
        {"amount": "2.00", "per": "piece"},
    )
    by_weight = {"charge": "0.10", "per": "lb", "weight": "15 lb"}
    found = await torn_down(priced, {**tube, "opens": {**opens, "leftover": by_weight}})
    assert found["worth"]["likely"] == "76.50"  # 80 - 2 x 15 lb at 0.10 - 2 x 0.25
    assert found["plan"]["opening"]["leftover"]["lost_kg"] == "4.535924"
    paid = await torn_down(priced, {**tube, "opens": {**opens, "leftover": {"charge": "-1.00"}}})
    assert paid["worth"]["likely"] == "81.50"


async def test_what_must_come_off_comes_off(priced: World) -> None:
    """A screw that spoils what is left over is taken out even where its own worth does not pay for that."""
    body = of("body", "10 lb", grade="copper-residue")
    body["opens"] = {"how": "piece-by-piece", "leftover": {"grade": "copper-no1"}}
    body["parts"] = [of("screw", "1 lb", minutes="2")]
    kept_in = await torn_down(priced, body)
    assert node(kept_in, "screw")["choice"] == "stay-on"
    body["parts"][0]["must_come_off"] = True
    out = await torn_down(priced, body)
    assert node(out, "screw")["choice"] == "sell-whole"
    assert node(out, "screw")["taking_off"]["must"] is True
    assert out["worth"]["likely"] == "36.08"  # 9 lb at 4.00 and 1 lb at 0.075, to the even cent


@pytest.mark.parametrize("settled_by", ["Have a chip of it assayed.", None])
async def test_a_part_says_how_sure_its_rule_is(world: World, settled_by: str | None) -> None:
    """What a rule grades has that rule's confidence, and what would settle it where it is disputed and the
    version says so; what is named, undecided or unknown has neither, nor has anything by method 3.
    """
    await world.publish(disputed(**({} if settled_by is None else {"settled_by": settled_by})))
    wire = of("wire", "1 lb", observed={"metal": "copper", "steel_screws": False}, minutes="1")
    device = {**TREADMILL, "parts": [*TREADMILL["parts"], wire]}
    found = await torn_down(world, device)
    told = {
        one["name"]: (one["confidence"], one.get("settled_by", "not told"))
        for one in nodes(found["plan"])
        if "confidence" in one
    }
    settled = "not told" if settled_by is None else settled_by
    assert told == {"rail": ("published", "not told"), "wire": ("disputed", settled)}
    asked_ = TeardownIn.model_validate(asked(device)).request()
    before = (await world.services.teardowns.work_out(asked_, "3")).body
    assert b"confidence" not in before
    assert b"settled_by" not in before


async def test_one_price_for_a_grade_and_what_a_pile_reaches(priced: World) -> None:
    """Six parts of 5 lb each are priced as lots of 5 lb; their pile of 30 lb says that it reaches the price
    from 20 lb, and how much more that is, and with that lot named it is priced so.
    """
    opens = {"how": "all-at-once", "minutes": "1"}
    parts = [of(f"coil {n}", "5 lb", grade="copper-no2") for n in range(6)]
    device = {
        "name": "box of coils",
        "weight": "31 lb",
        "grade": "light-iron",
        "opens": opens,
        "parts": parts,
    }
    found = await torn_down(priced, device)
    (pile,) = found["piles"]
    assert (found["worth"]["likely"], pile["weight"]["shown"]) == ("99.00", "13.61 kg (30 lb)")
    assert "3.50 USD per lb from 20 lb: 6.00 more in all" in pile["says"]
    lot = await torn_down(priced, device, lots={"Birch": "30 lb"})
    assert (lot["worth"]["likely"], lot["piles"][0]["says"]) == ("105.00", None)
    few = await torn_down(priced, {**device, "parts": parts[:1]}, lots={"Birch": "30 lb"})
    assert few["piles"][0]["says"].startswith("Copper No. 2 is counted as in a lot from 20 lb")


async def test_cautions_come_before_anything_is_opened(priced: World) -> None:
    """Those of the device first, in the caller's words as well; those of parts that are not reached too."""
    found = await torn_down(priced, TREADMILL)
    assert [one["id"] for one in found["cautions"]] == ["sharp", None, "dust"]
    assert found["cautions"][1] == {
        "id": None,
        "name": "treadmill",
        "says": "The belt is under tension: hold it before the bolts come out.",
        "source": "told with the request",
        "certain": True,
    }
    assert "local law" in found["heed"]
    inner = {"name": "shed", "weight": "9 lb", "parts": [of("ore", "1 lb", grade="copper-residue")]}
    inner["opens"] = {"how": "all-at-once", "minutes": "9999"}
    inner["grade"] = "light-iron"
    hidden = await torn_down(priced, inner)
    assert (node(hidden, "ore")["choice"], [(c["id"], c["certain"]) for c in hidden["cautions"]]) == (
        "stay-inside",
        [("dust", True), ("sharp", False)],  # only the former lists the grade that was named
    )


async def test_what_may_yet_apply_is_told_as_such(priced: World) -> None:
    """A cord that may turn out to be copper with iron has the dust of that among what may apply."""
    cord = {"name": "cord", "weight": "1 lb", "observed": {"metal": "copper"}}
    found = await torn_down(priced, cord)
    assert found["plan"]["possible_cautions"] == found["plan"]["cautions"] == ["dust"]
    assert [(one["id"], one["certain"]) for one in found["cautions"]] == [("dust", False)]


async def test_weights_from_low_to_high(priced: World) -> None:
    """Where the windings are not weighed, the plan's worth ranges with them, and knowing them is worth what
    it would gain: at 3 lb opening brings 2.25 more, and takes 9 minutes at 5.00 an hour, in one case of four.
    """
    motor = {name: value for name, value in MOTOR.items() if name != "minutes"}
    found = await torn_down(priced, motor, hour_rate="5.00", weighing_minutes="2")
    assert found["plan"]["choice"] == "sell-whole"
    assert found["by_weights"] == {"low": "8.10", "high": "8.10"}
    assert found["weighing"] == {
        "minutes": "2",
        "costs": "0.17",
        "unweighed": 1,
        # (3 lb at 3.30 + 6 lb at 0.075 - 9 lb at 0.90 - 9 minutes at 5.00 an hour) / 4
        "parts": [{"number": 1, "name": "windings", "gain": "0.38", "pays": True}],
    }
    slow = await torn_down(priced, motor, hour_rate="5.00", weighing_minutes="5")
    assert (slow["weighing"]["costs"], slow["weighing"]["parts"][0]["pays"]) == ("0.42", False)
    opened = copy.deepcopy(motor)
    opened["parts"][0]["weight"] = {"low": "3 lb", "likely": "4 lb", "high": "6 lb"}
    apart = await torn_down(priced, opened, hour_rate="5.00")
    assert apart["worth"]["likely"] == "13.58"  # 4 lb at 3.30 and 5 lb at 0.075, to the even cent
    assert apart["by_weights"] == {"low": "10.35", "high": "20.02"}
    assert apart["weighing"]["parts"] == []  # it is opened at any of the three


async def test_nothing_below_nothing_is_left_over(priced: World) -> None:
    """A rod may weigh more than the box that it is in, and being rid of the rest costs 1.00 a pound. At most
    nothing is left, and 9.5 lb are copper: 38.04. Method 4 was paid for less than nothing: 149.30.
    """
    parts = [
        of("rod", {"low": "1 lb", "likely": "2 lb", "high": "30 lb"}, grade="copper-no1"),
        of("lid", {"low": "0.5 lb", "likely": "1 lb", "high": "4 lb"}),
        of("pin", "1 lb", grade="copper-no1"),
    ]
    opens = {"how": "all-at-once", "minutes": "1", "leftover": {"charge": "1.00", "per": "lb"}}
    device = of("box", "10 lb", opens=opens, parts=parts)
    found = await torn_down(priced, device, hour_rate="0")
    old = json.loads(
        (
            await priced.services.teardowns.work_out(
                TeardownIn.model_validate(asked(device, hour_rate="0")).request(), "4"
            )
        ).body
    )
    assert found["plan"]["choice"] == old["plan"]["choice"] == "open"
    # 9.5 lb at 4.00 and the least of the lid; or 2 lb at 4.00, as little of the lid, and 7.5 lb to be rid of
    assert found["by_weights"] == {"low": "0.54", "high": "38.04"}
    assert old["by_weights"]["high"] == "149.30"
    left = found["plan"]["opening"]["leftover"]["weight"]
    assert (left["low_kg"], left["kg"], left["high_kg"]) == ("0", "2.721554", "3.401943")
    rod = node(found, "rod")
    assert (rod["weight"]["high_kg"], rod["amount"]["high"]) == ("3.855535", "37.40")  # 8.5 lb at 4.40
    assert found["notes"] == [
        "rod may weigh up to 13.61 kg (30 lb) by what was said, and in box there is room for 3.856 kg "
        "(8 lb 8 oz) with what else is in it: counted as up to that."
    ]
    assert "notes" not in old


async def test_the_nearest_of_many_changes_are_told(priced: World) -> None:
    """Of more than twenty the twenty nearest are told, and how many there are in all."""
    coils = [of(f"coil {n}", "2 lb", grade="copper-no1", minutes="9") for n in range(30)]
    opens = {"how": "piece-by-piece", "minutes": "1", "leftover": {"grade": "light-iron"}}
    found = await torn_down(priced, of("box", "90 lb", opens=opens, parts=coils))
    assert len(found["changes"]) == 20 < found["changes_in_all"]


async def test_room_is_told_of_one_of_several(priced: World) -> None:
    """Of two rods in a box of 10 lb each may weigh 5 lb at most: that is said of one, as its weight was."""
    rods = of("rod", "", count=2, weight_each={"low": "1 lb", "likely": "2 lb", "high": "30 lb"})
    del rods["weight"]
    opens = {"how": "all-at-once", "minutes": "1", "leftover": {"grade": "light-iron"}}
    (note,) = (await torn_down(priced, of("box", "10 lb", opens=opens, parts=[rods])))["notes"]
    assert note.startswith("rod may weigh up to 13.61 kg (30 lb) by what was said, and in box there is room ")
    assert "room for 2.268 kg (5 lb) with" in note


async def test_what_is_left_over_and_was_weighed_takes_room(priced: World) -> None:
    """In a box of 10 lb, of which 2 lb or more are left over, a rod weighs 8 lb at most; and with a rod of
    1 lb or more no more than 9 lb are left over.
    """
    left = {"charge": "1.00", "per": "lb", "weight": {"low": "2 lb", "likely": "3 lb", "high": "12 lb"}}
    rod = of("rod", {"low": "1 lb", "likely": "2 lb", "high": "30 lb"}, grade="copper-no1")
    opens = {"how": "all-at-once", "minutes": "1", "leftover": left}
    found = await torn_down(priced, of("box", "10 lb", opens=opens, parts=[rod]), hour_rate="0")
    assert node(found, "rod")["weight"]["high_kg"] == "3.628739"
    weight = found["plan"]["opening"]["leftover"]["weight"]
    assert (weight["low_kg"], weight["high_kg"]) == ("0.907185", "4.082331")
    # 1 lb at 4.00 and 9 lb to be rid of; 8 lb at 4.00 and 2 lb
    assert found["by_weights"] == {"low": "-5.00", "high": "30.00"}


async def test_a_device_no_lighter_than_what_is_in_it(priced: World) -> None:
    """What may be lighter than what comes out of it counts as no lighter than that, and it is told."""
    opens = {"how": "all-at-once", "minutes": "1"}
    parts = [of("rod", "6 lb", grade="copper-no1")]
    box = of("box", {"low": "1 lb", "likely": "8 lb", "high": "9 lb"}, opens=opens, parts=parts)
    found = await torn_down(priced, box)
    assert found["plan"]["weight"]["low_kg"] == "2.721554"
    assert found["plan"]["opening"]["leftover"]["weight"]["low_kg"] == "0"
    assert found["notes"] == [
        "box may weigh as little as 0.454 kg (1 lb) by what was said, and what comes out of it weighs "
        "2.722 kg (6 lb) or more: counted as no less than that."
    ]
    assert (await torn_down(priced, {**box, "weight": "8 lb"}))["notes"] == []


async def test_what_would_change_the_plan(priced: World) -> None:
    """A price or weight that is told as the nearest makes two plans alike, and just beyond it, asked again,
    the part that is named is dealt with as is told.
    """
    found = await torn_down(priced, TREADMILL)
    windings = next(one for one in found["changes"] if one["name"] == "windings")
    assert (windings["what"], windings["change"], windings["becomes"]) == ("weight", "+50 %", "1.360777")
    assert windings["says"].startswith("Where windings weighs 1.36 instead of 0.907 kg (+50 %)")
    assert windings["then"] == {"number": 1, "name": "drive motor", "does": "open"}
    sizes = [abs(Decimal(one["change"].removesuffix(" %"))) for one in found["changes"]]
    assert sizes == sorted(sizes)
    device = copy.deepcopy(TREADMILL)
    device["parts"][0]["parts"][0]["weight"] = "1.3608 kg"
    assert node(await torn_down(priced, device), "drive motor")["choice"] == "open"
    device["parts"][0]["parts"][0]["weight"] = "1.3607 kg"
    assert node(await torn_down(priced, device), "drive motor")["choice"] == "sell-whole"


@pytest.mark.parametrize(
    ("now", "becomes", "shown"),
    [
        ("0.90", "0.623456", ("0.90", "0.623")),
        ("68.038856", "68.0391", ("68.0389", "68.0391")),
        ("1234.5", "2000", ("1234", "2000")),
        ("0.075", "0", ("0.075", "0")),
    ],
)
def test_figures_of_a_sentence_have_three_digits(now: str, becomes: str, shown: tuple[str, str]) -> None:
    """A figure of a change is told in three digits, in more only where two would look the same."""
    assert for_people(now, becomes) == shown


async def test_a_yard_rounds_in_its_own_way(priced: World) -> None:
    """3 lb at 0.075 are 22.5 cents: in the region 0.22, at a yard that rounds half up 0.23."""
    region, yard = [
        await torn_down(priced, of("sheet", "3 lb"), **place)
        for place in ({"region": "XO-KEL"}, {"yard": "cinder-lane"})
    ]
    assert (region["whole"]["likely"], yard["whole"]["likely"]) == ("0.22", "0.23")
    assert (region["yard"], yard["yard"], yard["region"]) == (None, "cinder-lane", "XO-KEL")


async def test_kept_read_and_replayed_it_is_the_same(world_without_rulebook: World) -> None:
    """Kept or not, read or replayed, also after prices moved, an answer has the same bytes and hash."""
    priced = await with_prices(world_without_rulebook)
    plain = await priced.send(PATH, asked(TREADMILL))
    kept = await priced.send(PATH, asked(TREADMILL, keep=True), "wren")
    assert (kept.status_code, kept.content) == (201, plain.content)
    name = kept.headers["teardown-id"]
    assert name.startswith("t-")
    assert kept.headers["location"] == f"{PATH}/{name}"
    await priced.post(price("copper-residue", "0.95"), yard="tern-row")
    for again in (
        await priced.client.get(f"{PATH}/{name}"),
        await priced.client.post(f"{PATH}/{name}/replay"),
    ):
        assert (again.status_code, again.content, again.headers["teardown-id"]) == (200, plain.content, name)
    found = plain.json()
    sha256 = found["pins"].pop("sha256")
    assert hashlib.sha256(canonical(found)).hexdigest() == sha256
    assert (await priced.client.get(f"{PATH}/t-nothing")).status_code == 404


async def test_a_thousand_parts(priced: World) -> None:
    """A device of a thousand parts is answered, each part with what is done with it."""
    found = await torn_down(priced, grown(1000))
    assert len(list(nodes(found["plan"]))) == 1000


def as_list(device: Body) -> list[Body]:
    """A device as a list of its parts."""
    found: list[Body] = []
    waiting: list[tuple[Body, int | None]] = [(device, None)]
    while waiting:
        part, within = waiting.pop()
        told = {name: value for name, value in part.items() if name != "parts"}
        waiting += [(inside, len(found)) for inside in reversed(part.get("parts", []))]
        found.append(told if within is None else {**told, "within": within})
    return found


@pytest.mark.parametrize("device", [TREADMILL, grown(60)], ids=["treadmill", "grown"])
async def test_a_device_as_a_list_is_the_same_device(priced: World, device: Body) -> None:
    """Given as a list it is answered as one, in its order, with the figures that it has as a tree; kept, the
    list is repeated byte for byte.
    """
    body = {"region": "XO-KEL", "hour_rate": "15.00", "parts": as_list(device)}
    response = await priced.send(PATH, {**body, "keep": True})
    assert response.status_code == 201, response.text
    TeardownOut.model_validate_json(response.content)
    found, tree = response.json(), await torn_down(priced, device)
    assert found["parts"] == as_list_of(tree["plan"])
    assert found["plan"] == {**tree["plan"], "parts": []}
    assert {name for name, told in tree.items() if found[name] != told} == {"plan", "pins"}
    again = await priced.client.post(f"{PATH}/{response.headers['teardown-id']}/replay")
    assert (again.status_code, again.content) == (200, response.content)


def as_list_of(plan: Any) -> list[Any]:
    """The nodes of a plan, as they stand in a list."""
    numbers = {part["number"]: each["number"] for each in nodes(plan) for part in each["parts"]}
    return [
        {name: told for name, told in each.items() if name != "parts"}
        | {"within": numbers.get(each["number"])}
        for each in nodes(plan)
    ]


async def test_a_list_can_be_of_any_depth(priced: World) -> None:
    """Of shells in one another, more than any stack holds, each is opened for what is in the innermost."""
    depth = 1200
    parts: list[Body] = [
        {"name": f"shell {number}", "weight": f"{2 * depth - number} g", "opens": {"how": "all-at-once"}}
        for number in range(depth)
    ]
    parts.append({"name": "core", "weight": "1 lb", "grade": "copper-no1"})
    body = {"region": "XO-KEL", "hour_rate": "15", "parts": [parts[0]]}
    body["parts"] += [{**part, "within": number} for number, part in enumerate(parts[1:])]
    response = await priced.send(PATH, body)
    assert response.status_code == 200, response.text
    found = response.json()
    assert (found["worth"]["likely"], len(found["parts"])) == ("4.00", depth + 1)
    assert {part["choice"] for part in found["parts"][:-1]} == {"open"}
