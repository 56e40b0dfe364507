"""Weights beside a price that steps at a weight, over the service: method 7."""

from __future__ import annotations

from collections.abc import AsyncIterator
from decimal import Decimal
from typing import Any

import pytest
from tests.api import KINDS, Body, World, empty_world, price, settle
from tests.compositions.recording import recorded
from tests.teardowns.test_doubts import by_method as device_by_method
from tests.teardowns.test_kinds import told
from tests.teardowns.test_teardowns import of, torn_down

APART: Body = {"how": "all-at-once", "minutes": "60", "leftover": {"grade": "light-iron"}}


@pytest.fixture(scope="module")
async def stepped(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """The small district, where Copper No. 2 is paid better from 100 lb on, and light iron from 35 lb."""
    async with empty_world(request, KINDS[0]) as world:
        await settle(world)
        await world.post(price("light-iron", "0.10"), price("copper-no2", "3.00"))
        await world.post(price("copper-no2", "3.30", from_weight="100 lb"))
        await world.post(price("light-iron", "0.40", from_weight="35 lb"))
        await world.post(price("steel-heavy", "0.01"), price("copper-residue", "0.90"))
        await world.post(price("steel-heavy", "0.02", from_weight="59 lb"), price("copper-no1", "4.00"))
        await world.post(price("copper-residue", "1.20", from_weight="60 lb"))
        await world.post(price("screws", "4.00", from_weight="50 lb"))
        yield world


def rack(coil: Any, weight: str = "130 lb") -> Body:
    """A rack of light iron with a coil in it."""
    return of("rack", weight, grade="light-iron", opens=APART, parts=[of("coil", coil, grade="copper-no2")])


def of_the_coil(found: Any) -> list[Any]:
    """The weights of the coil that would change the plan."""
    return [one for one in found["changes"] if (one["what"], one["name"]) == ("weight", "coil")]


async def says(world: World, device: Body, name: str = "coil", sign: str = "+", **asked: Any) -> str:
    """The sentence on a weight of a part that is more, or less, than it has now."""
    found = (await torn_down(world, device, **asked))["changes"]
    (change,) = (
        one for one in found if (one["what"], one["name"], one["change"][0]) == ("weight", name, sign)
    )
    return str(change["says"])


async def test_the_step_itself_changes_the_plan(stepped: World) -> None:
    """98 lb of a coil pay 294.00 and 32 lb of iron 3.20, 52.00 are lost on the rack: opened up to 245.20 an
    hour. From 100 lb on it is 330 + 3 - 52. So by 250 an hour two pounds more open it, and the answer with
    these says so; by method 6 it took 1.7 lb more than that at the old price, and an excuse.
    """
    found = await torn_down(stepped, rack("98 lb"), hour_rate="255.00")
    assert found["plan"]["choice"] == "sell-whole"
    (change,) = of_the_coil(found)
    assert (change["becomes"], change["change"]) == ("45.359237", "+2 %")
    assert change["says"] == (
        "Where coil weighs 45.4 instead of 44.5 kg (+2 %), it is better to open rack. There Copper No. 2 is "
        "paid 3.30 USD per lb."
    )
    assert (await torn_down(stepped, rack("99.999 lb"), hour_rate="255.00"))["plan"]["choice"] == "sell-whole"
    assert (await torn_down(stepped, rack("100 lb"), hour_rate="255.00"))["plan"]["choice"] == "open"
    before = await device_by_method(stepped, rack("98 lb"), "6", hour_rate="255.00")
    (change,) = of_the_coil(before)
    assert change["says"].endswith("has another price from 100 lb on: ask again with that weight.")


async def test_just_below_a_step(stepped: World) -> None:
    """At 101 lb it is opened, and no longer where it is less than 100."""
    found = await torn_down(stepped, rack("101 lb"), hour_rate="255.00")
    assert found["plan"]["choice"] == "open"
    (change,) = of_the_coil(found)
    assert change["says"] == (
        "Where coil weighs less than 45.4 instead of 45.8 kg (-1 %), it is better to sell rack whole. There "
        "Copper No. 2 is paid 3.00 USD per lb."
    )


async def test_what_is_left_over_steps_where_a_part_is_heavier(stepped: World) -> None:
    """36 lb of iron are left of 130 lb with a coil of 94: 14.40. One pound more of coil leaves 35 lb, and a
    hair beyond that the rest is paid 0.10.
    """
    found = await torn_down(stepped, rack("94 lb"), hour_rate="242.00")
    assert found["plan"]["choice"] == "open"
    more = [one for one in of_the_coil(found) if one["change"].startswith("+")]
    assert [one["says"] for one in more] == [
        "Where coil weighs more than 43.1 instead of 42.6 kg (+1.1 %), it is better to sell rack whole. "
        "There Light iron is paid 0.10 USD per lb."
    ]
    for weight, choice in (("95 lb", "open"), ("95.001 lb", "sell-whole")):
        again = await torn_down(stepped, rack(weight), hour_rate="242.00")
        assert again["plan"]["choice"] == choice


async def test_weighing_and_ranges_at_the_price_of_each_weight(stepped: World) -> None:
    """Of 90, 98 or 110 lb the heaviest alone is worth opening for: a quarter of what it leaves more is what
    weighing is worth. Where it is opened, low is 98 lb at its own price.
    """
    ranged = {"low": "90 lb", "likely": "98 lb", "high": "110 lb"}
    found = await torn_down(stepped, rack(ranged), hour_rate="250.00")
    (part,) = found["weighing"]["parts"]
    heavy = Decimal("110") * Decimal("3.30") + Decimal("20") * Decimal("0.10") - Decimal("52.00") - 250
    assert part["gain"] == str((heavy / 4).quantize(Decimal("0.01")))
    opened = await torn_down(stepped, rack({**ranged, "low": "98 lb", "likely": "102 lb"}), hour_rate="0")
    low, high = opened["by_weights"]["low"], opened["by_weights"]["high"]
    assert low == str(Decimal("98") * 3 + Decimal("32") * Decimal("0.10"))
    assert high == str(Decimal("110") * Decimal("3.30") + Decimal("20") * Decimal("0.10"))


async def test_a_device_of_a_kind_beside_a_step(stepped: World) -> None:
    """The parts of a device of a kind get heavier with it: where its copper reaches 100 lb it is opened,
    at the weight that is told, and not a gram before.
    """
    parts = [{"grade": "copper-no2", "weight": "60 kg"}, {"grade": "light-iron", "weight": "40 kg"}]
    new_kind = {"name": "Coil rack", "grade": "light-iron"}
    await recorded(stepped, kind="coil-rack", weight="100 kg", minutes="60", parts=parts, new_kind=new_kind)
    asked = {"kind": "coil-rack", "minutes": "60", "hour_rate": "262.00"}
    found = await told(stepped, **asked, weight="70 kg")
    assert found["plan"]["choice"] == "sell-whole"
    (change,) = (one for one in found["changes"] if (one["what"], one["number"]) == ("weight", 0))
    assert change["says"] == (
        "Where Coil rack weighs 75.6 instead of 70 kg (+8 %), and its usual parts with it, it is better to "
        "open Coil rack. There Copper No. 2 is paid 3.30 USD per lb."
    )
    assert change["becomes"] == str((Decimal("45.359237") / Decimal("0.6")).quantize(Decimal("0.000001")))
    for weight, choice in (("75.598 kg", "sell-whole"), ("75.599 kg", "open")):
        assert (await told(stepped, **asked, weight=weight))["plan"]["choice"] == choice
    asked["weight"] = {"low": "60 kg", "likely": "70 kg", "high": "90 kg"}
    ranged = await told(stepped, **asked)
    heavy = Decimal(90) / Decimal("0.45359237")
    gained = heavy * (Decimal("0.6") * Decimal("3.30") + (Decimal("0.4") - 1) * Decimal("0.40")) - 262
    (part,) = ranged["weighing"]["parts"]
    assert part["gain"] == str((gained / 4).quantize(Decimal("0.01")))


async def test_a_lot_that_was_named_does_not_step(stepped: World) -> None:
    """With a lot of 100 lb of Copper No. 2 a coil of 98 lb is paid 3.30 already. Of a rack of 135 lb 37 lb of
    iron are left, and less than 35 lb where the coil weighs more than 100: that price alone is told.
    """
    told_of = await says(stepped, rack("98 lb", "135 lb"), lots={"copper-no2": "100 lb"}, hour_rate="283.00")
    assert "Where coil weighs more than 45.4 instead of 44.5 kg" in told_of
    assert told_of.endswith("to sell rack whole. There Light iron is paid 0.10 USD per lb.")


async def test_what_holds_at_a_weight_is_not_what_holds_below_it(stepped: World) -> None:
    """Where the coil comes down to 100 lb, 35 lb of iron are left of 135, for 0.40; Copper No. 2 still has
    its price there, which it has no longer below that.
    """
    told_of = await says(stepped, rack("101 lb", "135 lb"), sign="-", hour_rate="285.00")
    assert "Where coil weighs 45.4 instead of 45.8 kg" in told_of
    assert told_of.endswith("it is better to open rack. There Light iron is paid 0.40 USD per lb.")


async def test_what_is_left_over_of_a_part_steps_with_its_own_weight(stepped: World) -> None:
    """Of a rack of 130 lb with a coil of 98 lb 32 lb are left over, of one of 133 lb 35, which pay 0.40."""
    told_of = await says(stepped, rack("98 lb"), "rack", hour_rate="250.00")
    assert "Where rack weighs 60.3 instead of 59.0 kg (+2.3 %), it is better to open rack." in told_of
    assert told_of.endswith(" There Light iron is paid 0.40 USD per lb.")


async def test_what_is_left_over_and_was_weighed_does_not_step(stepped: World) -> None:
    """36 lb were weighed that are left over: they stay so many, whatever the coil weighs."""
    device = rack("98 lb", "140 lb")
    device["opens"] = {**APART, "leftover": {"grade": "light-iron", "weight": "36 lb"}}
    told_of = await says(stepped, device, hour_rate="260.00")
    assert told_of.endswith("There Copper No. 2 is paid 3.30 USD per lb.")


async def test_two_of_many_prices_are_named(stepped: World) -> None:
    """Two pounds more of a coil, that is sold as it is, are more of it, more of what would be left over of
    it, and less of the rack: three prices are other ones, the first two are named.
    """
    never = {"how": "all-at-once", "minutes": "9999", "leftover": {"grade": "steel-heavy"}}
    coil = of("coil", "98 lb", grade="copper-no2", opens=never, parts=[of("pin", "40 lb", grade="tin")])
    told_of = await says(
        stepped, of("rack", "134 lb", grade="light-iron", opens=APART, parts=[coil]), hour_rate="260.00"
    )
    assert told_of.endswith(
        " There Copper No. 2 is paid 3.30 USD per lb, Heavy steel is paid 0.02 USD per lb and other prices "
        "step as well."
    )


async def test_a_lot_that_nobody_pays_for(stepped: World) -> None:
    """Steel screws are paid in lots from 50 lb on alone: with less than that the rack is sold whole."""
    bag = of("bag", "51 lb", grade="screws")
    device = of("rack", "130 lb", grade="light-iron", opens=APART, parts=[bag])
    told_of = await says(stepped, device, "bag", "-", hour_rate="150.00")
    assert "Where bag weighs less than 22.7 instead of 23.1 kg" in told_of
    assert told_of.endswith("There nobody is known to pay for Steel screws.")


async def test_what_is_undecided_steps_as_what_it_can_be(stepped: World) -> None:
    """Copper of which it is not known what it is pays at least what residue pays, more from 60 lb on: it is
    told that it is paid otherwise there, and not where it is not.
    """
    coil = of("coil", "58 lb", observed={"metal": "copper"})
    device = of("rack", "130 lb", grade="light-iron", opens=APART, parts=[coil])
    told_of = await says(stepped, device, hour_rate="40.00")
    assert "Where coil weighs 27.2 instead of 26.3 kg" in told_of
    assert told_of.endswith("There what coil can be is paid otherwise.")
    told_of = await says(stepped, {**device, "parts": [{**coil, "weight": "90 lb"}]}, hour_rate="70.00")
    assert told_of.endswith("it is better to sell rack whole. There Light iron is paid 0.10 USD per lb.")


async def test_the_rest_of_a_kind_steps_with_the_device(stepped: World) -> None:
    """Two fifths of it are no part of any record, and iron: 35 lb of that, from 87.5 lb of the device on, pay
    so much more that it is opened.
    """
    parts = [{"grade": "copper-no2", "weight": "60 kg"}]
    new_kind = {"name": "Wound rack", "grade": "light-iron"}
    await recorded(stepped, kind="wound-rack", weight="100 kg", minutes="60", parts=parts, new_kind=new_kind)
    asked = {"kind": "wound-rack", "minutes": "60", "leftover": {"grade": "light-iron"}}
    found = await told(stepped, **asked, weight="39 kg", hour_rate="130.00")
    assert found["plan"]["choice"] == "sell-whole"
    (change,) = (
        one
        for one in found["changes"]
        if (one["what"], one["number"], one["change"][0]) == ("weight", 0, "+")
    )
    assert change["becomes"] == str((Decimal("87.5") * Decimal("0.45359237")).quantize(Decimal("0.000001")))
    assert change["says"].endswith("There Light iron is paid 0.40 USD per lb.")
    for weight, choice in (("39.689 kg", "sell-whole"), ("39.69 kg", "open")):
        assert (await told(stepped, **asked, weight=weight, hour_rate="130.00"))["plan"]["choice"] == choice


async def test_a_step_at_the_last_weight_of_all(stepped: World) -> None:
    """A coil in a rack of 100 lb weighs 100 lb at most, from which on it is paid 3.30. At 3.00 it would be as
    good there to open the rack, by 260 an hour; it is better.
    """
    told_of = await says(stepped, rack("98 lb", "100 lb"), hour_rate="260.00")
    assert "Where coil weighs 45.4 instead of 44.5 kg (+2 %), it is better to open rack." in told_of
    assert told_of.endswith("There Copper No. 2 is paid 3.30 USD per lb.")


async def test_a_weight_where_both_are_as_good(stepped: World) -> None:
    """A rack of 114 lb pays 6.40 less whole than one of 130 and 1.60 less opened: by 250 an hour both come to
    the same there.
    """
    told_of = await says(stepped, rack("98 lb"), "rack", "-", hour_rate="250.00")
    assert "Where rack weighs 51.7 instead of 59.0 kg (-12.3 %), it is as good to open rack." in told_of


async def test_what_likely_weighs_nothing_has_no_share_to_move_by(stepped: World) -> None:
    """Where there is likely no coil in it at all, no weight of it is told by how much of what it has."""
    ranged = {"low": "0 lb", "likely": "0 lb", "high": "8 lb"}
    assert of_the_coil(await torn_down(stepped, rack(ranged), hour_rate="10.00")) == []


async def test_as_good_at_the_last_weight_of_all(stepped: World) -> None:
    """A coil of iron in a rack of 40 lb is paid 0.40 from 35 lb on, what is left over 0.10: all of it has to
    be the coil for that to come to what the rack pays whole.
    """
    coil = of("coil", "34 lb", grade="light-iron")
    device = of("rack", "40 lb", grade="light-iron", opens=APART, parts=[coil])
    told_of = await says(stepped, device, hour_rate="0")
    assert "Where coil weighs 18.1 instead of 15.4 kg" in told_of
    assert "it is as good to open rack. There Light iron is paid 0.40 USD per lb." in told_of
