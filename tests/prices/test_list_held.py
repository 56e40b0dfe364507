"""Prices that wait are on no list, and no list is held against them."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

from tests.api import World, price, settle
from tests.prices.test_aged_prices import YARDS
from tests.prices.test_held import market, of, wrong_posting
from tests.prices.test_histories import HELD, STANDING, rulebook
from tests.prices.uploading import dry_run, export, uploaded

from gradewright.core.aging import NOTHING_AGES
from gradewright.prices.counting import Asked, standing_of
from gradewright.prices.repository import Seen

__all__ = ["market"]


async def test_what_waits_is_not_listed(market: World) -> None:
    """In place of a price that waits stands the one before it; the same list again is the same."""
    await wrong_posting(market)
    for who in ("shrike", "wren"):
        exported = await export(market, yard="cinder-lane")
        assert exported.text.splitlines()[1:] == [
            ",copper-no1,3.60,USD,lb,",
            ",copper-no2,3.36,USD,lb,",
        ]
        again = await dry_run(market, exported.content, who=who, yard="cinder-lane")
        assert [line["change"] for line in again["lines"]] == ["same", "same"]
    found = await dry_run(market, "grade,price,per\ncopper-no2,33.0,lb\n", yard="cinder-lane")
    assert (found["lines"][0]["change"], found["lines"][0]["before"]["price"]) == ("raised", "3.36")


WRONG = "grade,price,per\ncopper-no2,33.0,lb\ncopper-no1,3.60,lb\n"


async def test_what_would_wait_is_told_before_and_after_it_is_stored(market: World) -> None:
    """A dry run tells of each line why it would wait, the stored list the same, and so does its posting."""
    trial = await dry_run(market, WRONG, who="shrike", yard="cinder-lane")
    assert [line["held"] is not None for line in trial["lines"]] == [True, False]
    why = trial["lines"][0]["held"]
    assert (why["because"], why["median"], why["yards"]) == ("far-off", "7.275255", 2)
    assert "; this price is 10 times theirs. It counts once another member" in why["says"]
    assert (trial["held"], trial["can_be_stored"], trial["counts"]["raised"]) == (1, True, 1)
    kept = await uploaded(market, WRONG, who="shrike", yard="cinder-lane")
    assert (kept["held"], [line["held"] for line in kept["lines"]]) == (1, [why, None])
    posting = await of(market, kept["posting"], "shrike")
    assert [line["held"] for line in posting["prices"]] == [why, None]


async def test_a_list_is_judged_with_what_its_author_said_before(market: World) -> None:
    """Posted again by the same author a far price still waits; by a second author it counts, as both do."""
    await wrong_posting(market)
    again = await dry_run(market, WRONG, who="shrike", yard="cinder-lane")
    seconded = await dry_run(market, WRONG, who="wren", yard="cinder-lane")
    assert (again["held"], seconded["held"]) == (1, 0)


async def test_the_price_before_stands_while_a_list_waits(market: World) -> None:
    """Where a step of a list waits, the author's earlier price is looked at in its place, once."""
    await market.post(price("copper-no2", "3.31"), who="shrike", yard="cinder-lane", on="2026-05-02")
    lines = "grade,price,per,from_weight\ncopper-no2,33.0,lb,\ncopper-no2,3.41,lb,100 lb\n"
    trial = await dry_run(market, lines, who="shrike", yard="cinder-lane")
    kept = await uploaded(market, lines, who="shrike", yard="cinder-lane")
    posting = await of(market, kept["posting"], "shrike")
    waits = [line["held"] for line in posting["prices"]]
    assert waits[0] is not None
    assert [line["held"] for line in trial["lines"] if line["line"]] == waits


async def test_an_old_list_is_not_held_against_todays_prices(market: World) -> None:
    """What was seen before anybody else had seen anything waits for nobody, however far from today's."""
    old = await dry_run(market, WRONG, who="shrike", yard="cinder-lane", observed_on="2025-06-01")
    assert (old["held"], [line["held"] for line in old["lines"]]) == (0, [None, None])


async def test_a_first_list_counts_as_its_authors_first_posting(world_without_rulebook: World) -> None:
    """Whoever has posted nothing before weighs as much while a list is tried as when it is stored."""
    world = world_without_rulebook
    document = rulebook()
    document["pricing"] |= {"held": HELD, "standing": STANDING}
    await world.publish(document)
    await settle(world)
    on = date(2026, 5, 4)
    pricing = (await world.services.rulebooks.in_force(on)).rulebook.pricing
    asked = Asked(YARDS, "USD", on, await world.revision(), pricing, NOTHING_AGES)
    line = Seen(
        "copper-no1",
        asked.revision + 1,
        1,
        "cinder-lane",
        "siskin",
        on,
        "told",
        Decimal("3.60"),
        "USD",
        "lb",
        None,
    )
    async with world.services.database.read() as session:
        tried = await standing_of(session, replace(asked, coming=[line]))
    await uploaded(world, "grade,price,per\ncopper-no1,3.60,lb\n", who="siskin", yard="cinder-lane")
    async with world.services.database.read() as session:
        stored = await standing_of(session, replace(asked, revision=await world.revision()))
    assert tried == stored == {"siskin": Decimal(STANDING["newcomer"])}
