"""Lines that stand for several bins by hand: what was marked down on them is told with what it can be."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator
from decimal import Decimal
from typing import Any

import pytest
from tests.api import World, empty_world, price
from tests.settlements.test_marked_down import body
from tests.settlements.tickets import kept, line, open_yard, settled, ticket
from tests.valuations.market import shipped

from gradewright.settlements.accepted import how_accepted
from gradewright.settlements.schemas import SettlementIn
from gradewright.settlements.told_schemas import SettlementOut

NO1, NO2, BRIGHT = "copper-no1", "copper-no2", "copper-bright"


@pytest.fixture(scope="module")
async def settling(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """The yard under a rulebook that ships, which pays for bright copper too."""
    async with empty_world(request, "sqlite") as made:
        await made.publish(shipped("2018.1"))
        await open_yard(made, furnish=True)
        await made.post(price(BRIGHT, "3.70"))
        yield made


def shared(bins: tuple[str, ...], *lines: Any) -> Any:
    """20 lb of each bin, and the last line is of all of them."""
    matches = [{"line": len(lines), "bin": each} for each in bins]
    total = sum(Decimal(each["amount"]) for each in lines)
    against = [{"grade": each, "weight": "20 lb"} for each in bins]
    return body(ticket(*lines, total=f"{total}"), *matches, bins=against)


def no2(weight: str) -> Any:
    """A line of No. 2."""
    return line("#2 Cu", weight, "3.10", f"{Decimal(weight) * Decimal('3.10'):.2f}")


async def both(settling: World, asked: Any) -> tuple[Any, Any, dict[str, bool]]:
    """The answer, that of method 5, and of each grade whether the ticket tells how it was accepted."""
    found = await settled(settling, asked)
    SettlementOut.model_validate(found)
    for each in (found, *found["groups"]):
        assert sum(map(Decimal, each["effects"].values())) == Decimal(each["difference"])
    request = SettlementIn.model_validate(asked).request()
    work = settling.services.settlements
    told = {one.grade: one.share is not None for one in how_accepted((await work.settle(request)).settled)}
    return found, json.loads((await work.settle(request, "5")).answer.body), told


async def test_of_each_of_two_bins_it_can_be_a_half_or_all(settling: World) -> None:
    """30 lb of No. 2 are of 20 lb each of No. 1 and of bright copper: 10 to 20 of either, of which method 5
    told 15 as certain. Some of both was marked down, so it counts.
    """
    found, then, told = await both(settling, shared((NO1, BRIGHT), no2("30")))
    assert [one["bin"] for one in found["marked_down"]] == [NO1, BRIGHT]
    down = found["marked_down"][0]
    assert [down[name]["shown"] for name in ("least", "weight", "most")] == [
        "4.536 kg (10 lb)",
        "6.804 kg (15 lb)",
        "9.072 kg (20 lb)",
    ]
    assert down["says"] == (
        "Between 4.536 kg (10 lb) and 9.072 kg (20 lb) of Copper No. 1 was accepted as Copper No. 2: it is "
        "in line 1, with others. It is reckoned as 6.804 kg (15 lb), by which the bins there are off alike."
    )
    assert down["says"] in found["groups"][0]["says"]
    assert (found["complete"], told) == (True, {NO1: True, BRIGHT: True})
    assert "least" not in then["marked_down"][0]
    assert then["marked_down"][0]["says"].startswith("6.804 kg (15 lb) of Copper No. 1 was accepted as")
    assert found["effects"] == then["effects"]


async def test_what_is_on_a_line_of_its_own_is_no_question(settling: World) -> None:
    """15 lb of No. 1 are on its line, and 24 of No. 2 are of both: 4 to 5 are No. 1."""
    own = line("#1 Cu", "15", "3.50", "52.50")
    found, then, told = await both(settling, shared((NO1, NO2), own, no2("24")))
    (down,) = found["marked_down"]
    assert down["says"].startswith("Between 1.814 kg (4 lb) and 2.268 kg (5 lb) of Copper No. 1 was")
    assert (down["weight"], found["complete"]) == (then["marked_down"][0]["weight"], True)
    assert told == {NO1: True, NO2: True}
    found, *_ = await both(settling, shared((NO1, NO2), own, no2("25")))
    (down,) = found["marked_down"]
    assert (down["weight"]["shown"], down["least"], down["most"]) == ("2.268 kg (5 lb)", None, None)


async def test_what_may_be_nothing_is_told_as_that(settling: World) -> None:
    """15 lb of No. 2 may be all No. 1, or all bright: of either nobody knows whether any was marked down. It
    is not complete, and counts as unclear.
    """
    asked = shared((NO1, BRIGHT), no2("15"))
    found, then, told = await both(settling, asked)
    down = found["marked_down"][0]
    assert down["least"] == {"kg": "0", "shown": "0 g (0 oz)"}
    assert down["says"] == (
        "Up to 6.804 kg (15 lb) of Copper No. 1 may have been accepted as Copper No. 2, or nothing: line 1 "
        "may be of other bins alone. It is reckoned as 3.402 kg (7 lb 8 oz), by which the bins there are off "
        "alike."
    )
    assert all(one["says"] in found["groups"][0]["says"] for one in found["marked_down"])
    assert found["says"].endswith(
        "Whether any of Copper No. 1 and Bare bright copper wire was accepted as a cheaper grade cannot be "
        "told: line 1 may be of other bins alone."
    )
    assert (found["complete"], told) == (False, {NO1: False, BRIGHT: False})
    assert (then["complete"], found["effects"]) == (True, then["effects"])
    name = await kept(settling, asked)
    headers = await settling.key("wren")
    read = await settling.client.get(f"/v1/settlements/{name}", headers=headers)
    again = await settling.client.post(f"/v1/settlements/{name}/replay", headers=headers)
    assert (again.status_code, again.content) == (200, read.content)


async def test_nothing_by_one_way_is_told_where_it_may_be_more(settling: World) -> None:
    """11 lb of No. 1 are on its own line, and 10 of No. 2 are of both: by one way none of these is No. 1."""
    own = line("#1 Cu", "11", "3.50", "38.50")
    found, then, told = await both(settling, shared((NO1, NO2), own, no2("10")))
    (down,) = found["marked_down"]
    assert down["says"].startswith("Up to 4.082 kg (9 lb) of Copper No. 1 may have been accepted")
    assert "It is reckoned as nothing, by which" in down["says"]
    assert (then["marked_down"], found["complete"], told) == ([], False, {NO1: False, NO2: True})
