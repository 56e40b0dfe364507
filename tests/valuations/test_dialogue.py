"""A dialogue of gradings: when it is not worth finding out more, and when it goes on for safety alone."""

from __future__ import annotations

from typing import Any

import pytest
from tests.api import World, price, settle, small_rulebook
from tests.valuations.test_gradings import PATH, graded

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
async def test_what_is_no_share_is_refused(world: World, within: Any) -> None:
    """A share is text in percent below 100 %; anything else is refused at its place."""
    response = await world.send(PATH, {"observed": COPPER, "alike_within": within})
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
