"""Valuing over HTTP: parts observed or named, amounts in a place's own terms, nothing silently zero."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.api import KINDS, World, empty_world, price, settle, small_rulebook
from tests.valuations.market import open_market, parts_of, request_for, shipped
from tests.valuations.test_promise import canonical

from gradewright.valuations.schemas import ValuationIn, ValuationOut

PATH = "/v1/valuations"
STEEL = {"metal": "steel", "thickness": "6.35 mm"}
CLEAN_COPPER = {"metal": "copper", "steel_screws": False}


async def valued(world: World, *parts: dict[str, Any], **more: Any) -> Any:
    """A valuation that is expected to be given, as documented."""
    place = {} if "yard" in more else {"region": "XO-KEL"}
    response = await world.send(PATH, {**place, **more, "parts": [*parts]})
    assert response.status_code in {200, 201}, response.text
    ValuationOut.model_validate_json(response.content)
    return response.json()


async def line(world: World, part: dict[str, Any], **more: Any) -> Any:
    """The answer to one part."""
    return (await valued(world, {"name": "it", **part}, **more))["parts"][0]


@pytest.fixture(scope="module", params=KINDS)
async def priced(request: pytest.FixtureRequest) -> Any:
    """The small district with prices at three yards, for tests that only read."""
    async with empty_world(request, request.param) as world:
        await settle(world)
        await world.post(
            price("copper-no1", "4.00"), price("steel-heavy", "0.10"), price("light-iron", "0.075")
        )
        await world.post(price("copper-no2", "3.30"), price("copper-no2", "3.50", from_weight="20 lb"))
        await world.post(
            price("light-iron", "0.165", "kg"), price("screws", "-0.02", "kg"), yard="cinder-lane"
        )
        await world.post(price("copper-no1", "9.00", "kg", currency="EUR"), yard="ember-end")
        yield world


async def test_a_weight_of_all_pieces_or_of_each(priced: World) -> None:
    """Three pieces of 2 lb are 6 lb in all, whichever way that is written; both notations are shown."""
    together = await line(priced, {"count": 3, "weight": "6 lb", "grade": "copper-no1"})
    each = await line(priced, {"count": 3, "weight_each": "2 lb", "grade": "copper-no1"})
    assert together["amount"] == each["amount"] == {"low": "21.60", "likely": "24.00", "high": "26.40"}
    assert together["weight"] == {"given": "6 lb", "kg": "2.72155422", "shown": "2.722 kg (6 lb)"}
    assert each["weight"] == {**together["weight"], "given": "3 x 2 lb"}
    assert together["count"] == each["count"] == 3


@pytest.mark.parametrize(
    "weight", ["2 lb 3 oz", "35 oz", "992.233309375 g", "0.992233309375 kg", "2-3/16 lb"]
)
async def test_a_weight_in_any_notation_is_the_same_weight(priced: World, weight: str) -> None:
    """2 lb 3 oz is 35 oz and 992.233309375 g; the answer says what was written."""
    found = await line(priced, {"weight": weight, "grade": "copper-no1"})
    assert (found["weight"]["given"], found["weight"]["kg"]) == (weight, "0.992233309375")
    assert found["amount"]["likely"] == "8.75"


@pytest.mark.parametrize("named", ["light-iron", "Light iron", "tin", "SHRED"])
async def test_a_grade_by_any_name(priced: World, named: str) -> None:
    """Slug, name and alias, in any case, are one grade; it is named, not graded, and no rule is told."""
    found = await line(priced, {"weight": "10 lb", "grade": named})
    assert (found["outcome"], found["grade"], found["grade_name"]) == ("named", "light-iron", "Light iron")
    assert (found["rule"], found["because"], found["confidence"]) == (None, None, None)


async def test_a_graded_part_says_by_which_rule(priced: World) -> None:
    """Observations give the grade, with the rule, its reason and its source."""
    found = await line(priced, {"weight": "10 lb", "observed": STEEL})
    assert {
        name: found[name] for name in ("outcome", "grade", "rule", "because", "source", "confidence")
    } == {
        "outcome": "graded",
        "grade": "steel-heavy",
        "rule": "thick-steel",
        "because": "Thick enough.",
        "source": "made for tests",
        "confidence": "published",
    }
    assert found["amount"] == {"low": "0.90", "likely": "1.00", "high": "1.10"}
    assert found["price"]["basis"]["says"] == "1 yard in Kelder Bay, newest today"


async def test_both_sides_of_a_limit(priced: World) -> None:
    """On the line counts as heavy; a hair below it does not, also where it is written in inches."""
    grades = [
        (await line(priced, {"weight": "1 lb", "observed": {"metal": "steel", "thickness": thickness}}))[
            "grade"
        ]
        for thickness in ("6.35 mm", "1/4 in", "0.25 in", "6.349 mm", "15/64 in")
    ]
    assert grades == ["steel-heavy"] * 3 + ["light-iron"] * 2


async def test_too_little_known_names_what_it_can_be(priced: World) -> None:
    """Candidates with their amounts, the next test, and no amount; the total says that it is incomplete."""
    found = await valued(priced, {"name": "pipe", "weight": "10 lb", "observed": {"metal": "copper"}})
    part = found["parts"][0]
    assert part["outcome"] == "undecided"
    assert {c["grade"]: c["amount"]["likely"] for c in part["candidates"]} == {
        "copper-no1": "40.00",
        "copper-residue": "16.50",
    }
    assert part["next_test"]["attribute"] == "steel_screws"
    assert (part["grade"], part["price"], part["amount"]) == (None, None, None)
    assert small_rulebook()["attributes"]["steel_screws"]["asks"] in part["unpriced"]
    assert (found["complete"], found["totals"]) == (
        False,
        {"low": "0.00", "likely": "0.00", "high": "0.00", "cash": None, "priced": 0, "unpriced": 1},
    )
    assert found["missing"] == [f"pipe: {part['unpriced']}"]


async def test_a_contradiction_is_named(priced: World) -> None:
    """What cannot be is told as such, and not priced."""
    observed = {**CLEAN_COPPER, "sticks_to_magnet": True}
    found = await line(priced, {"weight": "1 lb", "observed": observed})
    assert (found["outcome"], found["grade"], found["because"]) == ("contradiction", None, "Plated steel.")
    assert "it cannot be as described" in found["unpriced"]


async def test_what_would_raise_it(priced: World) -> None:
    """Backing out the screws of 100 lb in 2 pieces: what it gains in all and per hour, less what is shed."""
    observed = {"metal": "copper", "steel_screws": True}
    found = await line(priced, {"count": 2, "weight": "100 lb", "observed": observed})
    (raised,) = found["raises"]
    # 90 lb at 4.00, less 10 lb of screws at a charge of 0.02 per kg, against 100 lb at half of 3.50
    gain = Decimal("360") - Decimal("10") * Decimal("0.45359237") * Decimal("0.02") - Decimal("175.00")
    assert Decimal(raised["gain"]) == gain.quantize(Decimal("0.01"))
    assert (raised["preparation"], raised["grade"], raised["minutes"]) == (
        "back-out-screws",
        "copper-no1",
        "6",
    )
    assert Decimal(raised["per_hour"]) == Decimal(raised["gain"]) * 10
    assert raised["cautions"] == ["sharp"]


async def test_cautions_come_with_their_parts(priced: World) -> None:
    """A caution stands by the parts that it concerns, and is told once for the list."""
    found = await valued(
        priced,
        {"name": "a", "weight": "1 lb", "observed": STEEL},
        {"name": "b", "weight": "1 lb", "observed": {"metal": "steel", "thickness": "25 mm"}},
        {"name": "c", "weight": "1 lb", "grade": "copper-residue"},
        {"name": "d", "weight": "1 lb", "observed": STEEL},
    )
    assert [part["cautions"] for part in found["parts"]] == [["sharp"], [], ["dust"], ["sharp"]]
    assert [caution["id"] for caution in found["cautions"]] == ["sharp", "dust"]
    assert found["cautions"][1] == {
        "id": "dust", "name": "Dust", "says": "Wear a mask.", "source": "common practice", "certain": True,
    }  # fmt: skip


async def test_what_an_undecided_part_may_be_is_cautioned_of(priced: World) -> None:
    """A part that may turn out dangerous has the caution among its own, named as one that is not certain; in
    the list it is certain as soon as it is for one part.
    """
    copper = {"name": "a", "weight": "1 lb", "observed": {"metal": "copper"}}
    residue = {"name": "b", "weight": "1 lb", "grade": "copper-residue"}
    alone, both = await valued(priced, copper), await valued(priced, copper, residue)
    for found in (alone, both):
        assert (found["parts"][0]["cautions"], found["parts"][0]["possible_cautions"]) == (["dust"], ["dust"])
    assert "possible_cautions" not in both["parts"][1]
    assert [[c["certain"] for c in found["cautions"]] for found in (alone, both)] == [[False], [True]]


async def test_of_a_named_grade_only_what_lists_it_is_certain(priced: World) -> None:
    """Residue is dusty by name. Light iron has sharp edges unless it is thick, which nobody said: that may
    apply. Method 3 took it for certain.
    """
    parts = [{"name": g, "weight": "1 lb", "grade": g} for g in ("copper-residue", "light-iron")]
    found = await valued(priced, *parts)
    assert [part["cautions"] for part in found["parts"]] == [["dust"], ["sharp"]]
    assert [part.get("possible_cautions") for part in found["parts"]] == [None, ["sharp"]]
    assert [(c["id"], c["certain"]) for c in found["cautions"]] == [("dust", True), ("sharp", False)]
    request = ValuationIn.model_validate({"region": "XO-KEL", "parts": parts}).request()
    before = json.loads((await priced.services.valuations.value(request, "3")).body)
    assert [(c["id"], c["certain"]) for c in before["cautions"]] == [("dust", True), ("sharp", True)]


async def test_a_pile_reaches_the_better_price(priced: World) -> None:
    """Two lots of 12 lb are one pile of 24 lb, which gets the price from 20 lb; one alone does not."""
    one = {"name": "a", "weight": "12 lb", "grade": "Birch"}
    alone = await valued(priced, one)
    assert alone["parts"][0]["price"]["from_weight"] is None
    both = await valued(priced, one, {**one, "name": "b"})
    assert [part["price"]["from_weight"] for part in both["parts"]] == ["20 lb", "20 lb"]
    assert (alone["totals"]["likely"], both["totals"]["likely"]) == ("39.60", "84.00")
    (pile,) = both["piles"]
    assert (pile["grade"], pile["lines"], pile["weight_kg"]) == ("copper-no2", 2, "10.88621688")


async def test_a_yards_own_rounding_and_cash(priced: World) -> None:
    """Each line is rounded by the yard's own rule, the total of lines to its cash step, halves up."""
    parts = [{"name": f"{n}", "weight": "1 kg", "grade": "light-iron"} for n in range(5)]
    region = await valued(priced, {"name": "x", "weight": "1 kg", "grade": "screws"}, region="XO-FEN")
    assert region["totals"]["cash"] is None
    found = await valued(priced, *parts, yard="cinder-lane")
    assert [part["amount"]["likely"] for part in found["parts"]] == ["0.17"] * 5  # 0.165 half up
    assert (found["totals"]["likely"], found["totals"]["cash"]) == ("0.85", "0.85")
    two = await valued(priced, *parts[:2], yard="cinder-lane")
    assert (two["totals"]["likely"], two["totals"]["cash"]) == ("0.34", "0.35")
    assert (two["yard"], two["region"], two["currency"]) == ("cinder-lane", "XO-KEL", "USD")


async def test_a_region_rounds_half_to_even(priced: World) -> None:
    """A region has no cash step, and 0.075 times 1 lb is 0.08, times 3 lb is 0.22: to the even cent."""
    amounts = [
        (await line(priced, {"weight": weight, "grade": "copper-no1"}))["amount"]["likely"]
        for weight in ("0.00125 lb", "0.00375 lb", "0.00625 lb")
    ]
    assert amounts == ["0.00", "0.02", "0.02"]  # 0.005, 0.015, 0.025


async def test_a_yard_values_in_its_own_currency(priced: World) -> None:
    """A yard that pays in euros values in euros; what is known in another currency has no price there."""
    found = await valued(
        priced,
        {"name": "a", "weight": "2 kg", "grade": "copper-no1"},
        {"name": "b", "weight": "2 kg", "grade": "light-iron"},
        yard="ember-end",
    )
    assert (found["currency"], found["parts"][0]["amount"]["likely"]) == ("EUR", "18.00")
    assert found["parts"][1]["amount"] is None
    assert (found["complete"], found["totals"]["priced"], found["totals"]["unpriced"]) == (False, 1, 1)


async def test_a_charge_lowers_the_total(priced: World) -> None:
    """What costs money to be rid of is a negative amount, and counts in the total."""
    found = await valued(
        priced,
        {"name": "a", "weight": "1 lb", "grade": "copper-no1"},
        {"name": "b", "weight": "100 kg", "grade": "screws"},
        yard="cinder-lane",
    )
    assert [part["amount"]["likely"] for part in found["parts"]] == ["4.00", "-2.00"]
    assert (found["totals"]["likely"], found["totals"]["cash"]) == ("2.00", "2.00")


async def test_a_thousand_parts(priced: World) -> None:
    """A thousand parts are one list."""
    parts = [{"name": f"part {n}", "weight": "1 lb", "grade": "copper-no1"} for n in range(1000)]
    found = await valued(priced, *parts)
    assert (found["totals"]["likely"], found["totals"]["priced"]) == ("4000.00", 1000)
    assert found["piles"][0]["lines"] == 1000


async def test_the_day_chooses_rulebook_and_prices(priced: World) -> None:
    """Yesterday nothing had been posted yet; on a day before any rulebook there is nothing to grade by."""
    found = await valued(priced, {"name": "a", "weight": "1 lb", "grade": "copper-no1"}, on="2026-05-03")
    assert (found["on"], found["complete"]) == ("2026-05-03", False)
    assert "Nobody has posted a price for Copper No. 1 in Kelder Bay" in found["missing"][0]


@pytest.fixture(scope="module", params=KINDS)
async def market(request: pytest.FixtureRequest) -> Any:
    """The rulebooks that ship, with prices, for tests that only read."""
    async with empty_world(request, request.param) as world:
        yield await open_market(world)


SHREDDED = {"metal": "mixed", "form": "shredded", "shredded_from": "motors", "aluminium_wound_share": "7 %"}


@pytest.mark.parametrize(
    ("asked", "version", "grade"),
    [
        ({"on": "2018-01-31"}, "2017.1", "motors-shredded"),
        ({"on": "2018-02-01"}, "2018.1", "motors-shredded-mixed"),
        ({}, "2018.1", "motors-shredded-mixed"),
        ({"rulebook": "2017.1"}, "2017.1", "motors-shredded"),
        ({"rulebook": "2018.1", "on": "2018-01-31"}, "2018.1", "motors-shredded-mixed"),
        ({"on": "2017-07-05"}, "2014.1", "motors-shredded"),
    ],
)
async def test_the_edition_of_the_day_grades(
    market: World, asked: dict[str, str], version: str, grade: str
) -> None:
    """7 % of aluminium-wound motors passed until 31 January 2018; a version can be named whatever the day."""
    found = await valued(market, {"name": "box", "weight": "1 t", "observed": SHREDDED}, **asked)
    assert (found["pins"]["rulebook"], found["parts"][0]["grade"]) == (version, grade)
    graded = await market.send("/v1/gradings", {"observed": SHREDDED, **asked})
    assert (graded.json()["rulebook"], graded.json()["grade"]) == (version, grade)


@pytest.mark.parametrize("version", ["2014.1", "2017.1", "2018.1"])
async def test_every_worked_example_comes_out_as_it_says(market: World, version: str) -> None:
    """Through the interface every example of a shipped rulebook gives what the rulebook itself promises."""
    examples = shipped(version)["examples"]
    parts = [{"name": f"{n}", "weight": "1 kg", "observed": e["part"]} for n, e in enumerate(examples)]
    found = await valued(market, *parts, rulebook=version)
    for example, part in zip(examples, found["parts"], strict=True):
        if "grade" in example:
            assert part["grade"] == example["grade"], example
        elif "candidates" in example:
            assert {c["grade"] for c in part["candidates"]} == set(example["candidates"]), example
        else:
            outcome = "contradiction" if "contradiction" in example else "ungraded"
            assert part["outcome"] == outcome, example


def part_lists() -> st.SearchStrategy[list[dict[str, Any]]]:
    """Lists of parts of the shipped rulebook: observed or named, in any notation, under any name."""
    units = st.sampled_from(["g", "kg", "lb", "oz", "ozt", "t", "short ton", "gross ton", "gr", "dwt"])
    numbers = st.decimals("0.001", "9999", places=3).map(lambda n: f"{n:f}")
    characters = st.characters(exclude_categories=["Cc", "Cs"])
    part = st.fixed_dictionaries(
        {
            "name": st.text(characters, min_size=1, max_size=30).map(lambda t: f"p{t}p"),
            "count": st.integers(1, 1000),
            "weight": st.builds(lambda number, unit: f"{number} {unit}", numbers, units),
        }
    )
    observed = st.sampled_from([e["part"] for e in shipped("2018.1")["examples"]]).flatmap(
        lambda part: st.sets(st.sampled_from(sorted(part)), max_size=len(part)).map(
            lambda names: {"observed": {name: part[name] for name in sorted(names)}}
        )
    )
    named = st.sampled_from([{"grade": grade} for grade in shipped("2018.1")["grades"]])
    return st.lists(st.builds(lambda a, b: {**a, **b}, part, observed | named), min_size=1, max_size=8)


@settings(
    max_examples=80,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(
    parts=part_lists(),
    place=st.sampled_from([{"region": "XO-KEL"}, {"yard": "cinder-lane"}, {"yard": "tern-row"}]),
)
async def test_whatever_the_list_the_figures_agree(market: World, parts: Any, place: Any) -> None:
    """Totals and piles are the sums of the lines, complete means priced, and the bytes are canonical."""
    response = await market.send(PATH, {**place, "parts": parts})
    assert response.status_code == 200, response.text
    ValuationOut.model_validate_json(response.content)
    found = response.json()
    assert canonical(found) == response.content
    lines, totals = found["parts"], found["totals"]
    assert [part["name"] for part in lines] == [part["name"] for part in parts]
    for each in lines:
        assert (each["amount"] is None) == (each["unpriced"] is not None) == (each["price"] is None)
        assert (each["grade"] is None) == (each["outcome"] not in {"graded", "named"})
    amounts = [each["amount"] for each in lines if each["amount"] is not None]
    assert (totals["priced"], totals["unpriced"]) == (len(amounts), len(lines) - len(amounts))
    assert found["complete"] == (totals["unpriced"] == 0) == (not found["missing"])
    for column in ("low", "likely", "high"):
        total = sum((Decimal(amount[column]) for amount in amounts), Decimal(0))
        assert Decimal(totals[column]) == total
        piled = [Decimal(pile["amount"][column]) for pile in found["piles"] if pile["amount"]]
        assert sum(piled, Decimal(0)) == total
    assert all(Decimal(a["low"]) <= Decimal(a["likely"]) <= Decimal(a["high"]) for a in amounts)
    graded = [each for each in lines if each["grade"] is not None]
    assert sum(pile["lines"] for pile in found["piles"]) == len(graded)
    kilograms = sum((Decimal(each["weight"]["kg"]) for each in graded), Decimal(0))
    assert sum((Decimal(pile["weight_kg"]) for pile in found["piles"]), Decimal(0)) == kilograms


async def test_the_whole_list_of_examples(market: World) -> None:
    """The list that the other tests keep has lines of every kind, charges and kin among them."""
    found = (await market.send(PATH, request_for())).json()
    outcomes = {part["outcome"] for part in found["parts"]}
    assert outcomes >= {"graded", "named", "undecided", "contradiction"}
    assert found["totals"]["priced"] > 100
    assert found["totals"]["unpriced"] > 10
    assert any(part["raises"] for part in found["parts"])
    assert any(part["amount"] and part["amount"]["likely"].startswith("-") for part in found["parts"])
    assert len(parts_of("2018.1")) == len(found["parts"]) == len(shipped("2018.1")["examples"])
    assert json.dumps(found).count('"kind": "kin"') > 0
