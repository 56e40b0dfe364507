"""Where bins go, at the prices of three yards."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any

from gradewright.hauls.schemas import HaulIn
from tests.api import World
from tests.hauls.asking import PATH, bin_of, hauled, where
from tests.valuations.market import shipped

COSTS = {"trip": "12.00", "stop": "3.00", "pile": "1.00"}


async def test_bins_go_where_most_is_left(yards: World) -> None:
    """Two bins of copper reach a yard's better price together, and the rest goes along to save a stop."""
    bins = (
        bin_of("copper-no1", "60 lb", "pipe"),
        bin_of("No. 1 Copper", "40 lb", "bus bar"),
        bin_of("light-iron", "100 lb", "panels"),
        bin_of("steel-heavy", "50 lb", "beams"),
    )
    found = await hauled(yards, *bins, costs=COSTS)
    assert where(found) == {
        "pipe": [(1, "cinder-lane", "copper-no1")],
        "bus bar": [(1, "cinder-lane", "copper-no1")],
        "panels": [(1, "cinder-lane", "light-iron")],
        "beams": [(1, "cinder-lane", "light-iron")],
    }
    # 100 lb at 4.00, 150 lb at 0.10; a trip, a stop, one pile beyond the first.
    assert found["paid"]["likely"] == "415.00"
    assert found["costs"] == {"trips": "12.00", "stops": "3.00", "piles": "1.00", "total": "16.00"}
    assert found["left"]["likely"] == "399.00"
    assert found["proof"] == {
        "proved": True, "bound": "399.00", "gap": "0.00", "says": "No plan leaves more."
    }  # fmt: skip
    copper, iron = found["trips"][0]["stops"][0]["piles"]
    assert copper["price"]["from_weight"] == "100 lb"
    assert copper["ask"] is None
    assert iron["ask"] == "Ask whether Cinder Lane takes Heavy steel as Light iron."
    assert [each["lowered"] for each in iron["bins"]] == [False, True]
    # At Low Quay the beams are heavy steel: 6.50 instead of 5.00, less the stop.
    assert found["second"]["yards"] == ["cinder-lane", "low-quay"]
    assert found["second"]["less"] == "1.50"
    assert found["second"]["says"] == "Going to Cinder Lane and Low Quay leaves 1.50 less."


async def test_each_yard_can_have_a_stop_cost_of_its_own(yards: World) -> None:
    """A stop at Low Quay for 1.00 instead of 3.00 is worth the 1.50 that the beams bring more there; a yard
    that nothing is said of costs as much as all.
    """
    bins = (bin_of("copper-no1", "100 lb", "pipe"), bin_of("steel-heavy", "50 lb", "beams"))

    async def told(**own: str) -> Any:
        return await hauled(yards, *bins, costs={**COSTS, "pile": "0", "stop_at": own})

    common, cheap = await told(), await told(**{"low-quay": "1.00"})
    assert [at[1] for at in where(common)["beams"]] == ["cinder-lane"]
    assert [at[1] for at in where(cheap)["beams"]] == ["low-quay"]
    assert cheap["costs"] == {"trips": "12.00", "stops": "4.00", "piles": "0.00", "total": "16.00"}
    assert (common["left"]["likely"], cheap["left"]["likely"]) == ("390.00", "390.50")
    stops = cheap["trips"][0]["stops"]
    assert {stop["yard"]: stop["cost"] for stop in stops} == {"cinder-lane": "3.00", "low-quay": "1.00"}
    assert common["second"]["less"] == "1.50"
    dear = await told(**{"cinder-lane": "50.00"})
    assert {stop["yard"] for stop in dear["trips"][0]["stops"]} == {"low-quay"}


async def test_a_stop_tells_its_further_piles(yards: World) -> None:
    """With copper and iron at one yard the stop is 3.00 and the second pile 1.00; the trip is told apart. A
    trip that brings less than all that is told so by that yard's own cost.
    """
    bins = (bin_of("copper-no1", "100 lb"), bin_of("light-iron", "50 lb"))
    found = await hauled(yards, *bins, yards=["cinder-lane"], costs=COSTS)
    (stop,) = found["trips"][0]["stops"]
    assert stop["cost"] == "4.00"
    asked = {"yards": ["tern-row"], "costs": {"trip": "10", "stop_at": {"tern-row": "2"}}}
    loss = await hauled(yards, bin_of("light-iron", "10 lb"), **asked)
    assert loss["trips"][0]["loss"] == "11.20"


async def test_only_what_a_yard_has_posted_counts(yards: World) -> None:
    """A yard buys what it has a price of its own for; with estimates, what a price list has for it too."""
    brass = bin_of("brass-yellow", "10 lb")
    alone = await hauled(yards, brass, yards=["low-quay", "cinder-lane"])
    assert alone["trips"] == []
    assert [(each["why"], each["goes_from"]) for each in alone["kept"]] == [("no-price", None)]
    estimated = await hauled(yards, brass, yards=["low-quay", "cinder-lane"], estimates=True)
    pile = estimated["trips"][0]["stops"][0]["piles"][0]
    assert pile["price"]["basis"]["kind"] == "region"
    assert estimated["paid"]["likely"] == "20.00"


async def test_what_is_not_worth_it_stays_and_says_from_when_on_it_would_go(yards: World) -> None:
    """Held back is what leaves no more if taken, with the least weight at which that changes; asked for with
    that weight the bin goes, and with a gram less it stays.
    """
    asked = {"yards": ["tern-row"], "costs": {"trip": "10"}, "hold_back": True}
    found = await hauled(yards, bin_of("brass-yellow", "4 lb"), **asked)
    assert found["trips"] == []
    (kept,) = found["kept"]
    assert kept["why"] == "not-worth"
    assert kept["goes_from"]["proved"]
    grams = int(Decimal(kept["goes_from"]["weight_kg"]) * 1000)
    # 10.01 are needed: 5.0025 lb come to 10.005, which goes to the even 10.00, and the next gram to 10.01.
    assert grams == 2270
    for weight, goes in ((f"{grams} g", True), (f"{grams - 1} g", False)):
        again = await hauled(yards, bin_of("brass-yellow", weight), **asked)
        assert bool(again["trips"]) == goes
    assert (await hauled(yards, bin_of("brass-yellow", "4 lb"), yards=["tern-row"]))["trips"]
    assert found["second"]["says"] == "Going to Tern Row leaves 2.00 less."


async def test_a_trip_that_brings_less_than_it_costs_says_so(yards: World) -> None:
    """Where nothing may be held back, a trip at a loss says how much that is, which holding back saves."""
    asked = {"yards": ["tern-row"], "costs": {"trip": "10", "stop": "2"}}
    (trip,) = (await hauled(yards, bin_of("brass-yellow", "4 lb"), **asked))["trips"]
    assert trip["loss"] == "4.00"
    assert trip["says"].startswith("This trip likely leaves 4.00 less than not making it.")
    (trip,) = (await hauled(yards, bin_of("brass-yellow", "6 lb"), **asked))["trips"]
    assert (trip["loss"], trip["says"]) == (None, None)


async def test_what_to_do_about_what_stays_can_be_done(yards: World) -> None:
    """A bin of lots that are too heavy is to be given as more of them, and no price is to be posted where
    every yard refuses the grade.
    """
    lots = bin_of("copper-no1", "500 lb", lots=2)
    (kept,) = (await hauled(yards, lots, yards=["low-quay"], load="100 lb"))["kept"]
    assert (
        kept["says"]
        == "A lot of it is heavier than a trip carries. Give it as more lots if it can be taken apart."
    )
    beams = bin_of("steel-heavy", "9 lb", lower_to=[])
    for asked, do in (
        (["tern-row"], "Ask for other yards."),
        (["tern-row", "cinder-lane"], "Post what another pays, or ask with estimates."),
    ):
        (kept,) = (await hauled(yards, beams, yards=asked))["kept"]
        assert kept["says"].endswith(f"Tern Row does not take it. {do}")


async def test_a_price_for_larger_piles_only(yards: World) -> None:
    """What is posted for larger piles only stays below that, and goes from there on."""
    asked = {"yards": ["cinder-lane"], "costs": {"trip": "5"}}
    (kept,) = (await hauled(yards, bin_of("motors-copper", "49 lb"), **asked))["kept"]
    assert kept["why"] == "too-light"
    assert kept["goes_from"]["weight_kg"] == "22.68"
    together = (bin_of("motors-copper", "25 lb", "small"), bin_of("motors-copper", "25 lb", "large"))
    assert (await hauled(yards, *together, **asked))["paid"]["likely"] == "20.00"


async def test_a_load_takes_several_trips(yards: World) -> None:
    """With a load limit there are more trips; a bin is only taken apart into lots that the caller allows."""
    asked = {"yards": ["low-quay"], "load": "100 lb", "costs": {"trip": "1"}}
    whole = await hauled(yards, bin_of("copper-no1", "150 lb"), **asked)
    assert [(each["why"], each["goes_from"]) for each in whole["kept"]] == [("too-heavy", None)]
    apart = await hauled(yards, bin_of("copper-no1", "150 lb", lots=3), **asked)
    assert apart["kept"] == []
    assert apart["most_trips"] == 2
    assert sorted(each["weight_kg"] for each in apart["trips"]) == ["22.6796185", "45.359237"]
    assert apart["costs"]["trips"] == "2.00"
    thirds = await hauled(yards, bin_of("copper-no1", "100 g", lots=3), yards=["low-quay"], trips=1)
    assert thirds["trips"][0]["weight_kg"] == "0.1"


async def test_as_many_trips_as_a_load_can_call_for(yards: World) -> None:
    """Three bins of 60 lb in loads of 100 lb take three trips, although two would carry their weight."""
    bins = [bin_of("copper-no1", "60 lb", f"bin {n}") for n in range(3)]
    found = await hauled(yards, *bins, yards=["low-quay"], load="100 lb", costs={"trip": "1"})
    assert (found["most_trips"], len(found["trips"]), found["kept"]) == (3, 3, [])


async def test_what_stays_for_want_of_a_trip(yards: World) -> None:
    """Eight bins of 90 lb at 3.70 in loads of 100 lb: each is worth a trip of 10, and six are the most that
    are planned. That is why two stay, and what to do; by method 2 nothing but their worth was told.
    """
    bins = [bin_of("copper-no1", "90 lb", f"bin {n}") for n in range(8)]
    asked = {"yards": ["low-quay"], "load": "100 lb", "costs": {"trip": "10"}}
    found = await hauled(yards, *bins, **asked, hold_back=True)
    assert len(found["trips"]) == found["most_trips"] == 6
    assert [kept["why"] for kept in found["kept"]] == ["no-trip-left"] * 2
    assert found["kept"][0]["says"] == (
        "On a trip of its own it would leave 323.00 more, and there are 6 at most. Ask again for what stays."
    )
    assert found["proof"]["says"] == "No plan with at most 6 trips leaves more."
    fewer = await hauled(yards, *bins[:3], **asked, hold_back=True, trips=2)
    assert fewer["kept"][0]["says"].endswith("and there are 2 at most. Allow more of them.")
    request = HaulIn.model_validate({**asked, "bins": bins, "hold_back": True}).request()
    before = json.loads((await yards.services.hauls.haul(request, "2")).answer.body)
    assert [kept["why"] for kept in before["kept"]] == ["not-worth"] * 2
    refused = await yards.send(PATH, {**asked, "bins": bins})
    (fault,) = refused.json()["errors"]
    assert fault["detail"].startswith("Not all of it fits into 6 trips, and more are not planned at once.")
    assert "Allow more of them" not in fault["detail"]


async def test_what_is_not_worth_a_further_trip(yards: World) -> None:
    """Where a trip of its own would cost more than it brings, it is not for want of one that it stays."""
    bins = [bin_of("copper-no1", "90 lb"), bin_of("light-iron", "90 lb")]
    asked = {"yards": ["low-quay"], "load": "100 lb", "costs": {"trip": "10"}, "trips": 1}
    (kept,) = (await hauled(yards, *bins, **asked, hold_back=True))["kept"]
    assert (kept["name"], kept["why"]) == ("light-iron", "not-worth")


async def test_a_bin_goes_down_only_where_it_may(yards: World) -> None:
    """A bin is sold as a cheaper grade by common practice, by the caller's own list, or not at all."""
    costs, one = {"pile": "30"}, ["low-quay"]
    bins = (bin_of("copper-no2", "50 lb", "windings"), bin_of("copper-no1", "30 lb", "pipe"))
    down = await hauled(yards, *bins, yards=one, costs=costs)
    assert where(down)["pipe"] == [(1, "low-quay", "copper-no2")]
    assert down["bins"][1]["lower_to"][0] == "copper-no2"
    for more in ({"lower": False}, {"bins": [bins[0], {**bins[1], "lower_to": []}]}):
        same = await hauled(yards, **{"bins": [*bins], "yards": one, "costs": costs, **more})
        assert where(same)["pipe"] == [(1, "low-quay", "copper-no1")]
    named = await hauled(
        yards, {**bins[1], "lower_to": ["light-iron"]}, bin_of("light-iron", "9 lb"), yards=one
    )
    assert named["bins"][0]["lower_to"] == ["light-iron"]
    motors = await hauled(yards, bin_of("motors-copper", "60 lb"))
    assert motors["bins"][0]["lower_to"] == ["motors-with-iron"]


async def test_the_yards_own_words_and_refusals_are_told(yards: World) -> None:
    """A pile has the yard's labels, a bin says where it is priced and refused, and cautions come along."""
    found = await hauled(
        yards, bin_of("copper-no1", "5 lb"), bin_of("steel-heavy", "9 lb"), yards=["low-quay"]
    )
    piles = found["trips"][0]["stops"][0]["piles"]
    assert [pile["labels"] for pile in piles] == [["#1 Cu", "clean pipe"], []]
    both = await hauled(yards, bin_of("steel-heavy", "9 lb"))
    assert both["bins"][0]["priced_at"] == ["low-quay"]
    assert both["bins"][0]["refused_at"] == ["tern-row"]
    screens = await hauled(yards, bin_of("picture-tubes", "9 lb"))
    assert screens["kept"][0]["why"] == "no-price"
    assert screens["cautions"]


async def test_of_a_grade_only_what_lists_it_is_certain(yards: World) -> None:
    """Of a bin only its grade is known: certain are the cautions that list it, the rest may apply."""
    cautions = (await hauled(yards, bin_of("light-iron", "5 lb")))["cautions"]
    listing = {
        name for name, one in shipped("2027.2")["cautions"].items() if "light-iron" in one.get("grades", ())
    }
    assert {one["id"] for one in cautions if one["certain"]} == listing
    assert any(not one["certain"] for one in cautions)
    tubes = (await hauled(yards, bin_of("picture-tubes", "9 lb")))["cautions"]
    assert tubes[0]["certain"]


async def test_the_piles_of_a_kept_valuation(yards: World) -> None:
    """A valuation's id stands for its piles, its region and its rulebook; parts without a grade are named."""
    parts = [
        {"name": "pipe", "weight": "60 lb", "grade": "copper-no1"},
        {"name": "bar", "weight": "45 lb", "grade": "copper-no1"},
        {"name": "what is this", "weight": "1 kg", "observed": {}},
    ]
    valued = await yards.send("/v1/valuations", {"region": "XO-KEL", "keep": True, "parts": parts})
    found = await hauled(yards, valuation=valued.headers["valuation-id"])
    assert found["region"] == "XO-KEL"
    assert found["left_out"] == ["what is this"]
    assert [(each["grade"], each["weight"]["given"]) for each in found["bins"]] == [
        ("copper-no1", "47.62719885 kg")
    ]
    assert found["paid"]["likely"] == "420.00"
