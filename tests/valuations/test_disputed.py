"""What an answer by a disputed rule says: that it is disputed, and what would settle it."""

from __future__ import annotations

from typing import Any

import pytest
from tests.api import KINDS, Body, World, empty_world, price, settle, small_rulebook
from tests.valuations.test_gradings import graded
from tests.valuations.test_valuations import line, valued

ASSAY = "Have a chip of it assayed."
COPPER = {"metal": "copper", "steel_screws": False}
STEEL = {"metal": "steel", "thickness": "7 mm"}


def disputed(**of_the_rule: str) -> Body:
    """The small rulebook as of this year, with one rule disputed."""
    document = small_rulebook(version="2026.3", effective_from="2026-01-01")
    document["rules"][1] |= {"confidence": "disputed", **of_the_rule}
    return document


@pytest.fixture(params=KINDS)
async def priced(request: pytest.FixtureRequest) -> Any:
    """The small district with prices, under a rulebook that says what would settle its disputed rule."""
    async with empty_world(request, request.param) as world:
        await settle(world)
        await world.publish(disputed(settled_by=ASSAY))
        await world.post(price("copper-no1", "4.00"), price("steel-heavy", "0.10"))
        yield world


async def test_a_grading_says_what_would_settle_it(priced: World) -> None:
    """The grading by a disputed rule has it as a member, and in its sentence for people."""
    found = await graded(priced, COPPER)
    assert (found["confidence"], found["settled_by"]) == ("disputed", ASSAY)
    assert found["says"] == f"Copper No. 1. Clean copper. This is disputed. To settle it: {ASSAY}"


async def test_a_grading_by_a_rule_that_nobody_disputes_has_nothing_to_settle(priced: World) -> None:
    """Another rule's grading has null, and its sentence nothing of a dispute; nor has one without rule."""
    sure = await graded(priced, STEEL)
    assert (sure["settled_by"], sure["says"]) == (None, "Heavy steel. Thick enough.")
    assert (await graded(priced, {"metal": "copper"}))["settled_by"] is None


async def test_a_grading_by_a_version_that_says_no_more_says_that_it_is_disputed(world: World) -> None:
    """Where nothing is written that settles it, the yard is to be asked; there is no member for it."""
    await world.publish(disputed())
    found = await graded(world, COPPER)
    assert (found["confidence"], found["settled_by"]) == ("disputed", None)
    asked = "This is disputed: ask the yard what it takes it as."
    assert found["says"] == f"Copper No. 1. Clean copper. {asked}"


async def test_a_line_of_a_valuation_says_what_would_settle_it(priced: World) -> None:
    """Priced or not, a line that a disputed rule grades says so; the others do not have the member."""
    found = await valued(
        priced,
        {"name": "pipe", "weight": "1 lb", "observed": COPPER},
        {"name": "plate", "weight": "1 lb", "observed": STEEL},
        {"name": "named", "weight": "1 lb", "grade": "copper-no1"},
    )
    assert [part.get("settled_by", "absent") for part in found["parts"]] == [ASSAY, "absent", "absent"]
    unpriced = await line(priced, {"weight": "1 lb", "observed": COPPER}, yard="ember-end")
    assert (unpriced["amount"], unpriced["settled_by"]) == (None, ASSAY)


async def test_an_older_version_keeps_its_bytes(world: World) -> None:
    """Where a version has a disputed rule and does not say what would settle it, no answer has the member."""
    await world.publish(disputed())
    await world.post(price("copper-no1", "4.00"))
    found = await line(world, {"weight": "1 lb", "observed": COPPER})
    assert found["confidence"] == "disputed"
    assert "settled_by" not in found
