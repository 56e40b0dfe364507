"""Grading over HTTP: one part, its grade and why, or what to find out next."""

from __future__ import annotations

import json
from typing import Any

import pytest
from tests.api import KINDS, World, empty_world, price, settle
from tests.valuations.market import open_market, shipped
from tests.valuations.test_promise import canonical

from gradewright.valuations.grading_schemas import GradingOut

PATH = "/v1/gradings"


async def graded(world: World, observed: dict[str, Any], **more: Any) -> Any:
    """A grading that is expected to be given, as documented and in canonical form."""
    response = await world.send(PATH, {"observed": observed, **more})
    assert response.status_code == 200, response.text
    GradingOut.model_validate_json(response.content)
    assert canonical(response.json()) == response.content
    return response.json()


@pytest.fixture(scope="module", params=KINDS)
async def priced(request: pytest.FixtureRequest) -> Any:
    """The small district with a few prices, for tests that only read."""
    async with empty_world(request, request.param) as world:
        await settle(world)
        await world.post(price("copper-no1", "4.00"), price("steel-heavy", "0.10"))
        await world.post(price("copper-no1", "9.50", "kg"), yard="cinder-lane")
        yield world


@pytest.fixture(scope="module", params=KINDS)
async def market(request: pytest.FixtureRequest) -> Any:
    """The rulebooks that ship, with prices, for tests that only read."""
    async with empty_world(request, request.param) as world:
        yield await open_market(world)


async def test_a_grade_with_its_reason(priced: World) -> None:
    """Decided: grade, name, rule, reason, source and confidence, and one sentence for people."""
    found = await graded(priced, {"metal": "steel", "thickness": "1/4 in"})
    assert {name: found[name] for name in ("outcome", "grade", "name", "rule", "source", "confidence")} == {
        "outcome": "graded",
        "grade": "steel-heavy",
        "name": "Heavy steel",
        "rule": "thick-steel",
        "source": "made for tests",
        "confidence": "published",
    }
    assert found["says"] == "Heavy steel. Thick enough."
    assert (found["candidates"], found["next_test"], found["may_be_ungraded"]) == ([], None, False)
    assert (found["rulebook"], found["currency"], found["price"]) == ("2020.1", None, None)


async def test_a_grade_with_its_local_price(priced: World) -> None:
    """Where a place is named the grade comes with its price there, in the place's currency and unit."""
    region = await graded(priced, {"metal": "steel", "thickness": "7 mm"}, region="XO-KEL")
    assert (region["currency"], region["price"]["likely"], region["price"]["per"]) == ("USD", "0.10", "lb")
    yard = await graded(priced, {"metal": "copper", "steel_screws": False}, yard="cinder-lane")
    assert (yard["price"]["likely"], yard["price"]["per"], yard["price"]["basis"]["kind"]) == (
        "9.50",
        "kg",
        "yard",
    )
    refused = await graded(priced, {"metal": "steel", "thickness": "7 mm"}, yard="tern-row")
    assert (refused["grade"], refused["price"]) == ("steel-heavy", None)


async def test_a_trace_down_to_the_rule_that_decided(priced: World) -> None:
    """Every rule before it says what kept it out, the last one what it asked and found; none comes after."""
    found = await graded(priced, {"metal": "steel", "thickness": "3 mm"})
    assert [(step["rule"], step["holds"]) for step in found["trace"]] == [
        ("copper-with-screws", False),
        ("clean-copper", False),
        ("thick-steel", False),
        ("thin-steel", True),
    ]
    why = [step["why"] for step in found["trace"]]
    assert why[0] == "metal is steel; copper is asked"
    assert why[2] == "thickness is 3 mm; at least 6.35 mm (heavy_steel_thickness) is asked"
    assert "thickness is 3 mm" in why[3]
    assert "below 6.35 mm (heavy_steel_thickness)" in why[3]


async def test_a_trace_where_too_little_is_known(priced: World) -> None:
    """A rule that may still hold has null, and says what is not known."""
    found = await graded(priced, {"metal": "copper"})
    assert [(step["rule"], step["holds"]) for step in found["trace"]] == [
        ("copper-with-screws", None),
        ("clean-copper", None),
        ("thick-steel", False),
        ("thin-steel", False),
    ]
    assert "steel_screws" in found["trace"][0]["why"]


async def test_candidates_with_their_local_prices(priced: World) -> None:
    """Undecided: what it can still be, each with its price or its kin's; and the next test."""
    found = await graded(priced, {"metal": "copper"}, region="XO-KEL")
    assert found["outcome"] == "undecided"
    assert {c["grade"]: c["price"]["basis"]["kind"] for c in found["candidates"]} == {
        "copper-no1": "region",
        "copper-residue": "kin",
    }
    assert (found["grade"], found["name"], found["rule"], found["price"]) == (None, None, None, None)
    assert (found["next_test"]["attribute"], found["next_test"]["kind"]) == ("steel_screws", "yes_no")
    assert found["next_test"]["choices"] is None
    assert "Copper No. 1" in found["says"]


async def test_a_choice_comes_with_its_choices(market: World) -> None:
    """A next test that is a choice says how each is recognised, in the rulebook's own words."""
    asked = (await graded(market, {}, region="XO-KEL"))["next_test"]
    assert asked["kind"] == "choice"
    attribute = shipped("2018.1")["attributes"][asked["attribute"]]
    assert {name: asked[name] for name in ("asks", "choices", "test", "beware")} == {
        name: attribute[name] for name in ("asks", "choices", "test", "beware")
    }


async def test_a_choice_that_could_only_contradict_is_not_offered(market: World) -> None:
    """Of copper wire the surface is asked without what only aluminium and steel can have; a valuation asks
    the same. Whoever answers so all the same is told why it cannot be.
    """
    wire = {"metal": "copper", "form": "wire"}
    asked = (await graded(market, wire, region="XO-KEL"))["next_test"]
    assert asked["attribute"] == "surface"
    attribute = shipped("2018.1")["attributes"]["surface"]
    told = dict(attribute["choices"])
    assert (await graded(market, {**wire, "surface": "galvanised"}))["outcome"] == "contradiction"
    for impossible in ("anodised", "galvanised"):
        told.pop(impossible)
    assert asked["choices"] == told
    parts = [{"name": "wire", "weight": "1 kg", "observed": wire}]
    valued = await market.send("/v1/valuations", {"region": "XO-KEL", "parts": parts})
    assert valued.json()["parts"][0]["next_test"] == asked


async def test_a_contradiction_says_why(priced: World) -> None:
    """What cannot be is told with its reason, without candidates or a test."""
    found = await graded(priced, {"metal": "copper", "sticks_to_magnet": True, "steel_screws": False})
    assert (found["outcome"], found["grade"], found["candidates"], found["next_test"]) == (
        "contradiction", None, [], None,
    )  # fmt: skip
    assert found["says"] == "It cannot be as described. Plated steel."


async def test_what_decides_without_being_seen(priced: World) -> None:
    """A magnet is enough to rule copper out: the grade is given though the metal was not observed."""
    found = await graded(priced, {"sticks_to_magnet": True, "thickness": "1 mm"})
    assert (found["outcome"], found["grade"]) == ("graded", "light-iron")
    assert found["trace"][0]["holds"] is False


async def test_cautions_are_told_whole(priced: World) -> None:
    """A caution comes with its text and source, where it is known to concern the part."""
    found = await graded(priced, {"metal": "steel", "thickness": "1 mm"})
    assert found["cautions"] == [
        {
            "id": "sharp",
            "name": "Sharp edges",
            "says": "Wear gloves.",
            "source": "common practice",
            "certain": True,
        }
    ]
    assert (await graded(priced, {"metal": "steel", "thickness": "20 mm"}))["cautions"] == []


async def test_cautions_of_what_it_may_be_are_told_too(priced: World) -> None:
    """Of an undecided part the cautions of all that it may be are told, those that are certain first."""
    found = await graded(priced, {"metal": "copper"})
    assert [(one["id"], one["certain"]) for one in found["cautions"]] == [("dust", False)]
    found = await graded(priced, {"foreign_share": "60 %"})
    assert [(one["id"], one["certain"]) for one in found["cautions"]] == [("dust", True), ("sharp", False)]


async def test_what_is_skipped_has_to_be_an_attribute(priced: World) -> None:
    """A name to be skipped that the rulebook does not have is refused, beside all other faults, with what may
    have been meant.
    """
    asked = {"observed": {"metall": "copper"}, "skip": ["thickness", "thicknes", "wizardry"]}
    refused = await priced.send(PATH, asked)
    assert refused.status_code == 422
    found = [(fault["pointer"], fault.get("suggestions", [])[:1]) for fault in refused.json()["errors"]]
    assert found == [("#/observed/metall", ["metal"]), ("#/skip/1", ["thickness"]), ("#/skip/2", [])]


def answers() -> list[Any]:
    """Each twentieth worked example that ends in a grade and tells enough to be asked about."""
    examples = [e for e in shipped("2018.1")["examples"] if "grade" in e and len(e["part"]) > 2]
    return [pytest.param(e["part"], e["grade"], id=f"{n}-{e['grade']}") for n, e in enumerate(examples)][::20]


@pytest.mark.parametrize(("part", "grade"), answers())
async def test_asking_leads_to_the_grade(market: World, part: dict[str, Any], grade: str) -> None:
    """From nothing known, answering each next test by a worked example narrows down to that example's grade.

    The grade is among the candidates all along, candidates never come back, no attribute is asked for
    twice, and what the example does not tell is answered by the first value that keeps the part possible.
    """
    observed: dict[str, Any] = {}
    candidates: set[str] | None = None
    for _ in range(len(shipped("2018.1")["attributes"]) + 1):
        found = await graded(market, observed, region="XO-KEL", rulebook="2018.1")
        if found["outcome"] == "graded":
            break
        assert found["outcome"] == "undecided", found["says"]
        now = {candidate["grade"] for candidate in found["candidates"]}
        assert grade in now
        assert candidates is None or now <= candidates
        candidates = now
        asked = found["next_test"]["attribute"]
        assert asked not in observed
        observed[asked] = (
            part[asked] if asked in part else await possible(market, observed, found["next_test"], grade)
        )
    assert found["outcome"] == "graded", observed
    assert found["grade"] == grade
    # The rule holds, or is one of several that lead to the same grade however the rest turns out.
    holds = {step["rule"]: step["holds"] for step in found["trace"]}
    assert holds[found["rule"]] is not False


USUAL = {
    "length": ["10 mm", "1 mm", "0.4 mm", "100 mm", "2000 mm"],
    "share": ["0 %", "1 %", "4 %", "20 %", "50 %", "99 %"],
    "area": ["5 cm2", "50 cm2", "500 cm2"],
    "density": ["0.3 g/cm3", "1 g/cm3", "3 g/cm3", "9 g/cm3"],
    "year": [2005, 1995, 1970],
    "date": ["1985-01-01", "1970-01-01"],
    "yes_no": [False, True],
}


async def possible(world: World, observed: dict[str, Any], test: dict[str, Any], grade: str) -> Any:
    """A value under which the part can still be of the grade."""
    for value in test["choices"] or USUAL[test["kind"]]:
        found = await graded(world, {**observed, test["attribute"]: value}, rulebook="2018.1")
        if grade in {found["grade"], *(candidate["grade"] for candidate in found["candidates"])}:
            return value
    raise AssertionError(f"no value of {test['attribute']} keeps {grade} possible for {json.dumps(observed)}")


async def test_nothing_known_asks_something_that_tells(market: World) -> None:
    """Of a part of which nothing is known every grade of the rules is possible, and a test is proposed."""
    found = await graded(market, {}, region="XO-KEL")
    given = {rule["grade"] for rule in shipped("2018.1")["rules"]}
    assert {candidate["grade"] for candidate in found["candidates"]} == given
    assert found["next_test"]["attribute"] in shipped("2018.1")["attributes"]
    assert all(step["holds"] is None for step in found["trace"])
    assert len(found["trace"]) == len(shipped("2018.1")["rules"])


async def test_the_same_description_in_another_order(market: World) -> None:
    """The order in which observations are named does not change the answer."""
    for example in shipped("2018.1")["examples"][::25]:
        part = example["part"]
        turned = dict(reversed(part.items()))
        assert await graded(market, part) == await graded(market, turned)


async def test_true_is_not_one(market: World) -> None:
    """An answer remembered for a yes is not given for a number that equals it."""
    name = next(n for n, a in shipped("2018.1")["attributes"].items() if a["kind"] == "yes_no")
    assert (await market.send(PATH, {"observed": {name: True}})).status_code == 200
    assert (await market.send(PATH, {"observed": {name: 1}})).status_code == 422
    assert (await market.send(PATH, {"observed": {name: 0}})).status_code == 422
    assert (await market.send(PATH, {"observed": {name: False}})).status_code == 200
