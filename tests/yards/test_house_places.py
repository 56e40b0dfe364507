"""Limits that are said of one place, held against what others have said: within it, around it, and later."""

from __future__ import annotations

import re

from tests.api import World, only, problem_of, small_rulebook
from tests.yards.saying import CINDER_LANE, KELDER_BAY, say, sent

HEAVY, THIN = "heavy_steel_thickness", "thin_steel_thickness"
INVALID = "invalid-request"


async def two_limits(world: World) -> None:
    """A version in which heavy steel begins at one limit, and thin steel ends at another of its own."""
    made = small_rulebook(version="2021.1", effective_from="2021-01-01")
    made["limits"][THIN] = made["limits"][HEAVY]
    made["rules"][3]["when"]["thickness"] = {"below": THIN}
    await world.publish(made)


def moved(**limits: str | None) -> list[dict[str, str | None]]:
    """Limits as house rules say them, by the short names of `two_limits`."""
    names = {"heavy": HEAVY, "thin": THIN}
    return [{"limit": names[name], "value": value} for name, value in limits.items()]


def hole(detail: str) -> float:
    """The thickness in millimetres of the part that is shown."""
    found = re.search(r"thickness: ([0-9.]+) mm", detail)
    assert found, detail
    return float(found[1])


async def test_a_region_s_limits_are_held_against_those_of_yards_within(world: World) -> None:
    """What is sound in the region and leaves a hole at a yard with a limit of its own is refused, by name."""
    await two_limits(world)
    await say(world, CINDER_LANE, limits=moved(heavy="5 mm"))
    problem = problem_of(await sent(world, KELDER_BAY, limits=moved(heavy="4 mm", thin="4 mm")), INVALID)
    assert only(problem).pointer == "#/limits"
    begins = f"At Cinder Lane ({HEAVY} 5 mm, {THIN} 4 mm): Under it some parts that are light-iron by "
    assert only(problem).detail.startswith(begins)
    assert 4 <= hole(problem.detail) < 5
    await say(world, KELDER_BAY, limits=moved(heavy="5 mm", thin="5 mm"))


async def test_a_limit_is_held_against_what_the_place_says_later(world: World) -> None:
    """What leaves a hole only from a later day on, by another word that stands already, is refused too."""
    await two_limits(world)
    await say(world, CINDER_LANE, limits=moved(heavy="3 mm"))
    await say(world, CINDER_LANE, limits=moved(thin="4 mm"), from_="2026-12-01")
    problem = problem_of(
        await sent(world, CINDER_LANE, limits=moved(heavy="5 mm"), from_="2026-08-01"), INVALID
    )
    assert only(problem).detail.startswith(f"From 2026-12-01 on ({HEAVY} 5 mm, {THIN} 4 mm): Under it ")
    assert 4 <= hole(problem.detail) < 5
    await say(world, CINDER_LANE, limits=moved(heavy="4 mm"), from_="2026-08-01")


async def test_a_limit_that_is_lifted_leaves_that_of_the_region(world: World) -> None:
    """Where a yard takes its own value back its region's holds, and not the rulebook's, which would break."""
    await two_limits(world)
    await say(world, KELDER_BAY, limits=moved(heavy="3 mm"))
    await say(world, CINDER_LANE, limits=moved(heavy="4 mm", thin="4 mm"))
    await say(world, CINDER_LANE, limits=moved(heavy=None))


async def test_a_yard_within_without_a_word_of_its_own_is_told_once(world: World) -> None:
    """A hole in the region is told of the region alone, though every yard within it has the same."""
    await two_limits(world)
    problem = problem_of(await sent(world, KELDER_BAY, limits=moved(heavy="8 mm")), INVALID)
    assert only(problem).detail.startswith("Under it some parts that are steel-heavy by rulebook 2021.1 ")
