"""A dialogue of gradings: when it is not worth finding out more, and when it goes on for safety alone."""

from __future__ import annotations

from typing import Any

import pytest
from tests.api import World, price, settle, small_rulebook
from tests.valuations.test_gradings import PATH, graded

from gradewright.rulebooks.document import from_yaml
from gradewright.rulebooks.shipped import files

COPPER = {"metal": "copper"}
STEEL = {"metal": "steel"}


@pytest.fixture
async def calm(world_without_rulebook: World) -> World:
    """The small district under a rulebook in which nothing about copper can hurt anyone."""
    document = small_rulebook()
    del document["cautions"]["dust"]["grades"]
    await world_without_rulebook.publish(document)
    return await settle(world_without_rulebook)


async def priced(world: World, **prices: str) -> None:
    """One list of prices in the district."""
    lines = [price(grade.replace("_", "-"), amount) for grade, amount in prices.items()]
    await world.post(*lines)


async def test_not_worth_finding_out(calm: World) -> None:
    """Where all candidates pay nearly the same no test is asked for; the spread is told, and against what."""
    await priced(calm, copper_no1="4.00", copper_residue="3.90")
    found = await graded(calm, COPPER, region="XO-KEL")
    assert (found["outcome"], found["next_test"], found["in_doubt"]) == ("undecided", None, [])
    assert found["not_worth"] == {
        "cheapest": "copper-residue",
        "dearest": "copper-no1",
        "lowest": "3.90",
        "highest": "4.00",
        "spread": "0.10",
        "per": "lb",
        "share": "2.5 %",
        "within": "5 %",
        "weight": None,
        "adds": None,
        "minutes": None,
        "costs": None,
    }
    assert (
        "Finding out which is not worth it: each pays between 3.90 and 4.00 USD per lb here" in found["says"]
    )
    assert "2.5 % of the dearest" in found["says"]
    assert {candidate["grade"] for candidate in found["candidates"]} == {"copper-no1", "copper-residue"}


@pytest.mark.parametrize(
    ("within", "worth"), [("2.5 %", False), ("2.4 %", True), ("0%", True), ("50 %", False)]
)
async def test_the_caller_says_how_near_is_alike(calm: World, within: str, worth: bool) -> None:
    """`alike_within` takes the place of the 5 %; on the line is alike."""
    await priced(calm, copper_no1="4.00", copper_residue="3.90")
    found = await graded(calm, COPPER, region="XO-KEL", alike_within=within)
    assert (found["not_worth"] is None) is worth
    assert (found["next_test"] is not None) is worth


@pytest.mark.parametrize("within", ["5", "0.05", "-5 %", "100 %", "five %", "5 % ", 5, 0.05, True])
async def test_what_is_no_share_is_refused(shared: World, within: Any) -> None:
    """A share is text in percent below 100 %; anything else is refused at its place."""
    response = await shared.send(PATH, {"observed": COPPER, "alike_within": within})
    assert response.status_code == 422
    assert response.json()["errors"][0]["pointer"] == "#/alike_within"


async def test_without_a_place_it_is_always_worth_it(calm: World) -> None:
    """Without local prices nothing is alike, and where prices differ it is worth finding out."""
    await priced(calm, copper_no1="4.00", copper_residue="3.90")
    assert (await graded(calm, COPPER))["next_test"]["attribute"] == "steel_screws"
    assert (await graded(calm, COPPER))["not_worth"] is None
    await calm.post(price("copper-residue", "1.20"))
    found = await graded(calm, COPPER, region="XO-KEL")
    assert (found["next_test"]["attribute"], found["not_worth"]) == ("steel_screws", None)


async def test_a_danger_is_found_out_all_the_same(world: World) -> None:
    """Both grades pay the same, but thin sheet has a caution: thickness is asked for, and it says why."""
    await priced(world, steel_heavy="0.10", light_iron="0.10")
    found = await graded(world, STEEL, region="XO-KEL")
    assert found["next_test"]["attribute"] == "thickness"
    assert found["not_worth"] is None
    assert [caution["id"] for caution in found["in_doubt"]] == ["sharp"]
    assert "what is not known decides on a danger (Sharp edges)" in found["says"]
    decided = await graded(world, {**STEEL, "thickness": "1 mm"}, region="XO-KEL")
    assert (decided["outcome"], decided["in_doubt"]) == ("graded", [])


async def test_what_no_rule_asks_for_is_asked_where_money_hangs_on_it(world: World) -> None:
    """Of windings of which nobody can tell the metal: what is under the lacquer, which no rule asks for, and
    rules one metal out. It is no reason to stop that all else costs more than it adds."""
    shipped = from_yaml(files()[-1].read_text(encoding="utf-8"))
    await world.publish({**shipped, "effective_from": "2026-05-01"})
    await priced(world, copper_no2="3.50", aluminium_wire_bare="0.80", light_iron="0.08")
    skip = ["colour_when_filed", "metal", "surface", "density", "sticks_to_magnet", "material"]
    asked = {"region": "XO-KEL", "hour_rate": "12", "weight": "10 kg"}
    found = await graded(world, {"form": "winding"}, **asked, skip=[*skip, "aluminium_share", "attached"])
    assert found["rulebook"] == shipped["version"]
    assert found["not_worth"] is None
    assert found["next_test"]["attribute"] == "winding_metal"


async def test_a_danger_that_nobody_can_tell(world: World) -> None:
    """Where what would settle it is skipped nothing is asked, and it is not called unworthy either."""
    await priced(world, steel_heavy="0.10", light_iron="0.10")
    found = await graded(world, STEEL, region="XO-KEL", skip=["thickness"])
    assert (found["next_test"], found["not_worth"]) == (None, None)
    assert [caution["id"] for caution in found["in_doubt"]] == ["sharp"]
    assert "Nothing more can be asked." in found["says"]


async def test_a_danger_beside_the_grade(world_without_rulebook: World) -> None:
    """Where what settles the grade cannot be told, what settles a danger is asked for, and it is said why."""
    document = small_rulebook()
    document["cautions"]["dust"] |= {
        "when": [{"metal": "copper"}],
        "unless": [{"foreign_share": {"below": "1 %"}}],
    }
    await world_without_rulebook.publish(document)
    world = await settle(world_without_rulebook)
    found = await graded(world, COPPER, skip=["steel_screws"])
    assert found["next_test"]["attribute"] == "foreign_share"
    assert [caution["id"] for caution in found["in_doubt"]] == ["dust"]
    assert "Nothing that can be told settles the grade, but a danger depends on it (Dust)." in found["says"]
    last = await graded(world, COPPER, skip=["steel_screws", "foreign_share"])
    assert (last["next_test"], last["in_doubt"]) == (None, [])


async def test_a_danger_of_one_of_the_grades(world: World) -> None:
    """One grade is dusty and the other is not: asking goes on to the grade, though both pay the same."""
    await priced(world, copper_no1="4.00", copper_residue="4.00")
    observed = dict(COPPER)
    for answer in ({"foreign_share": "10 %"}, {"steel_screws": True}):
        found = await graded(world, observed, region="XO-KEL")
        assert [caution["id"] for caution in found["in_doubt"]] == ["dust"]
        assert found["next_test"]["attribute"] in answer
        observed.update(answer)
    assert (await graded(world, observed, region="XO-KEL"))["grade"] == "copper-residue"


async def test_a_grade_that_is_refused_has_no_price(calm: World) -> None:
    """A yard that does not take one of two grades pays nothing for it: that is worth finding out."""
    document = small_rulebook(version="2020.2", effective_from="2020-02-01")
    document["cautions"]["sharp"] |= {"when": [{"metal": "copper"}], "unless": []}
    await calm.publish(document)
    await priced(calm, steel_heavy="0.10", light_iron="0.10")
    assert (await graded(calm, STEEL, yard="low-quay"))["not_worth"] is not None
    refused = await graded(calm, STEEL, yard="tern-row")
    assert (refused["not_worth"], refused["next_test"]["attribute"]) == (None, "thickness")


async def test_a_light_part_is_not_worth_the_minutes(calm: World) -> None:
    """With an hourly rate what knowing adds to a part of that weight on average is held against the minutes:
    0.025 for 0.05 lb, against 18 seconds; a pound is worth asking about, and so is a kilogram where no weight
    is given.
    """
    await priced(calm, copper_no1="4.00", copper_residue="3.00")
    place = {"region": "XO-KEL", "hour_rate": "5"}
    found = await graded(calm, COPPER, weight="0.05 lb", **place)
    assert found["next_test"] is None
    assert found["not_worth"] == {
        "cheapest": "copper-residue",
        "dearest": "copper-no1",
        "lowest": "3.00",
        "highest": "4.00",
        "spread": "1.00",
        "per": "lb",
        "share": "25 %",
        "within": None,
        "weight": "0.05 lb",
        "adds": "0.02",
        "minutes": "0.3",
        "costs": "0.02",
    }
    assert (
        "Finding out which is not worth it: it adds 0.02 USD on average to 0.05 lb, and takes 0.3 min, which "
        "cost 0.02 USD at that rate."
    ) in found["says"]
    for more in ({"weight": "1 lb"}, {}, {"weight": "0.05 lb", "hour_rate": "4.99"}):
        found = await graded(calm, COPPER, **{**place, **more})
        assert (found["not_worth"], found["next_test"]["attribute"]) == (None, "steel_screws")


async def test_without_a_rate_nothing_is_too_dear_to_find_out(calm: World) -> None:
    """As long as nobody says what an hour is worth the share alone ends the asking, of the lightest part too;
    with a rate the share does not count.
    """
    await priced(calm, copper_no1="4.00", copper_residue="3.00")
    assert (await graded(calm, COPPER, region="XO-KEL", weight="0.001 g"))["next_test"] is not None
    await calm.post(price("copper-residue", "3.99"))
    assert (await graded(calm, COPPER, region="XO-KEL"))["not_worth"]["share"] == "0.25 %"
    heavy = await graded(calm, COPPER, region="XO-KEL", weight="1000 lb", hour_rate="30")
    assert heavy["next_test"]["attribute"] == "steel_screws"


async def test_a_danger_is_found_out_at_any_rate(world: World) -> None:
    """Of a milligram at a thousand an hour nothing is worth finding out, but residue is dusty."""
    await priced(world, copper_no1="4.00", copper_residue="3.00")
    found = await graded(world, COPPER, region="XO-KEL", weight="0.001 g", hour_rate="1000")
    assert found["not_worth"] is None
    assert [caution["id"] for caution in found["in_doubt"]] == ["dust"]
    assert found["next_test"] is not None
    assert (
        "Finding out costs more than it adds, but what is not known decides on a danger (Dust)."
        in found["says"]
    )


@pytest.mark.parametrize(
    ("more", "pointer", "says"),
    [
        ({"hour_rate": "12"}, "#", "held against prices: give a region or a yard"),
        ({"weight": "1 kg"}, "#", "held against prices: give a region or a yard"),
        ({"region": "XO-KEL", "hour_rate": "12", "alike_within": "5 %"}, "#", "not both"),
        ({"region": "XO-KEL", "hour_rate": "-1"}, "#/hour_rate", "plain digits"),
        ({"region": "XO-KEL", "weight": "0 kg"}, "#/weight", "above zero"),
        ({"region": "XO-KEL", "weight": "1 stone of"}, "#/weight", "stone of"),
    ],
)
async def test_what_cannot_be_weighed_is_refused(shared: World, more: Any, pointer: str, says: str) -> None:
    """A rate or a weight without a place, a rate beside a share, and what is neither are refused."""
    response = await shared.send(PATH, {"observed": COPPER, **more})
    assert response.status_code == 422, response.text
    (error,) = response.json()["errors"]
    assert error["pointer"] == pointer
    assert says in error["detail"]
