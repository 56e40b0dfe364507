"""What yards pay better from a weight on, as a price list knows it."""

from __future__ import annotations

from decimal import Decimal

import pytest
from tests.api import World, price

from gradewright.accounts.service import Role
from gradewright.core.better import Step
from gradewright.core.rates import Rate
from gradewright.core.units import mass_unit
from gradewright.prices import better as stepping
from gradewright.prices.service import PriceService

POUND = mass_unit("lb").grams


async def better(world: World, grade: str, **place: str) -> tuple[Step, ...]:
    """The steps of a grade in a place, today."""
    prices: PriceService = world.services.prices
    where = await prices.place(place.get("region"), place.get("yard"))
    version = await world.services.rulebooks.in_force(world.clock().date())
    found, _ = await prices.list_for(where, version.rulebook, world.clock().date())
    return found.better.get(grade, ())


async def test_each_yard_s_own_steps(world: World) -> None:
    """A region knows the step of a yard over what any yard pays below it; a yard knows its own alone."""
    tiered = [price("copper-no2", "3.20"), price("copper-no2", "3.35", from_weight="100 lb")]
    await world.post(*tiered, yard="cinder-lane")
    await world.post(price("copper-no2", "3.30"), yard="low-quay", who="heron")
    await world.post(price("light-iron", "0.10"), price("light-iron", "0.10", from_weight="1 t"), who="heron")
    (step,) = await better(world, "copper-no2", region="XO-KEL")
    assert (step.yard, step.name, step.written, step.from_grams) == (
        "cinder-lane", "Cinder Lane", "100 lb", 100 * POUND,
    )  # fmt: skip
    assert (step.before, step.after) == (Rate(Decimal("3.30"), POUND), Rate(Decimal("3.35"), POUND))
    (own,) = await better(world, "copper-no2", yard="cinder-lane")
    assert (own.before, own.after) == (Rate(Decimal("3.20"), POUND), step.after)
    assert await better(world, "copper-no2", yard="low-quay") == ()
    assert await better(world, "light-iron", region="XO-KEL") == ()


async def test_a_yard_that_does_not_take_it_has_no_step(world: World) -> None:
    """What a yard has posted for a grade that it does not take any more is nothing to hold a pile for."""
    tiered = [price("copper-no2", "3.20"), price("copper-no2", "3.35", from_weight="100 lb")]
    await world.post(*tiered, yard="cinder-lane")
    said = {"from": "2026-05-01", "reason": "full", "refuses": ["copper-no2"]}
    path = "/v1/yards/cinder-lane/house-rules"
    assert (await world.send(path, said, "sedge", Role.MAINTAINER)).status_code == 201
    assert await better(world, "copper-no2", region="XO-KEL") == ()


async def test_a_country_is_no_place_to_point_into(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where more than some dozens of yards pay by weight, none of their steps are told; of a yard its own."""
    tiered = [price("copper-no2", "3.20"), price("copper-no2", "3.35", from_weight="100 lb")]
    await world.post(*tiered, yard="cinder-lane")
    await world.post(*tiered, yard="low-quay")
    monkeypatch.setattr(stepping, "MOST_YARDS", 1)
    assert await better(world, "copper-no2", region="XO-KEL") == ()
    assert len(await better(world, "copper-no2", yard="low-quay")) == 1
