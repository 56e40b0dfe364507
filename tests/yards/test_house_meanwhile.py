"""Limits that are said while a version comes in between: no version is left with a hole in a place."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Awaitable, Callable
from typing import Any

import httpx
import pytest
from tests.api import Body, World, only, problem_of, small_rulebook
from tests.conftest import talk_to
from tests.yards.saying import CINDER_LANE, KELDER_BAY, say, sent

from gradewright.accounts.service import Role
from gradewright.asgi import create_app
from gradewright.settings import Settings
from gradewright.yards import house_effects

HEAVY = "heavy_steel_thickness"
EIGHT, NINE = {"limit": HEAVY, "value": "8 mm"}, {"limit": HEAVY, "value": "9 mm"}


def in_so_many_words(version: str = "2027.1", begins: str = "2027-01-01") -> Body:
    """A version in which thin steel ends at 6.35 mm, wherever heavy steel begins."""
    made = small_rulebook(version=version, effective_from=begins)
    made["rules"][3]["when"]["thickness"] = {"below": "6.35 mm"}
    return made


async def during(world: World, meanwhile: Callable[[World], Awaitable[Any]], **said: Any) -> httpx.Response:
    """The answer to house rules after the check of which, and before they are kept, something else happens at
    another worker."""
    rules = world.services.house_rules
    check = rules.check

    async def then(*asked: Any) -> Any:
        found = await check(*asked)
        patched.undo()
        await meanwhile(other)
        return found

    async with world.another() as other:
        with pytest.MonkeyPatch.context() as patched:
            patched.setattr(rules, "look_ahead", _nothing)
            patched.setattr(rules, "check", then)
            return await sent(world, CINDER_LANE, **said)


async def _nothing(*_: Any) -> None:
    """What is looked at ahead is looked at by what keeps it too."""


async def limits(world: World, place: str = CINDER_LANE) -> list[str]:
    """The values of limits that a place has ever had."""
    history = (await world.get(f"{place}/house-rules"))["history"]
    return [each["value"] for each in history if each["kind"] == "limit"]


async def test_a_version_that_is_published_during_the_check_is_looked_at(world: World) -> None:
    """A limit is not kept under which a version has a hole that was published while the limit was checked:
    refused with what happened and what to do; sent again, it is refused with the hole."""
    answer = await during(world, lambda other: other.publish(in_so_many_words()), limits=[EIGHT])
    detail = problem_of(answer, "conflict").detail
    assert "version 2027.1" in detail
    assert "Nothing was stored. Send it again: it is looked at anew" in detail
    assert await limits(world) == []
    problem = problem_of(await sent(world, CINDER_LANE, limits=[EIGHT]), "invalid-request")
    assert "steel-heavy by rulebook 2027.1 have no answer any more" in problem.detail


async def test_a_limit_that_another_says_during_the_check_is_looked_at(world: World) -> None:
    """Of two words on limits that make a hole together the later is refused, be the other a region's."""
    made = in_so_many_words("2021.1", "2021-01-01")
    made["limits"]["thin_steel_thickness"] = made["limits"][HEAVY]
    made["rules"][3]["when"]["thickness"] = {"below": "thin_steel_thickness"}
    await world.publish(made)
    thin = "thin_steel_thickness"
    lifted = {"limit": thin, "value": None}
    await say(
        world, CINDER_LANE, limits=[{"limit": HEAVY, "value": "5 mm"}, {"limit": thin, "value": "7 mm"}]
    )
    both = [{"limit": name, "value": "4 mm"} for name in (HEAVY, thin)]
    answer = await during(world, lambda other: say(other, KELDER_BAY, limits=both), limits=[lifted])
    assert "limits of places" in problem_of(answer, "conflict").detail
    assert await limits(world) == ["5 mm", "7 mm"]
    problem = problem_of(await sent(world, CINDER_LANE, limits=[lifted]), "invalid-request")
    assert "have no answer any more, such as " in problem.detail


@pytest.mark.parametrize("key", [None, "posted-once-0001"])
async def test_nobody_waits_while_a_limit_is_looked_at(
    world: World, monkeypatch: pytest.MonkeyPatch, key: str | None
) -> None:
    """Others write meanwhile, also where the answer is kept under a key in the transaction of the write; sent
    again under it, the same answer comes."""
    looked_at, goes_on, found = threading.Event(), threading.Event(), house_effects._found

    def slow(*asked: Any, **how: Any) -> Any:
        looked_at.set()
        assert goes_on.wait(30)
        return found(*asked, **how)

    monkeypatch.setattr(house_effects, "_found", slow)
    headers = {**await world.key("sedge", Role.MAINTAINER), **({"Idempotency-Key": key} if key else {})}
    body = {"reason": "The sign.", "limits": [EIGHT]}

    async def send() -> httpx.Response:
        return await world.client.post(f"{CINDER_LANE}/house-rules", json=body, headers=headers)

    first = asyncio.create_task(send())
    try:
        assert await asyncio.to_thread(looked_at.wait, 30)
        label = say(world, "/v1/yards/low-quay", labels=[{"label": "Girder", "grade": "steel-heavy"}])
        await asyncio.wait_for(label, 5)
    finally:
        goes_on.set()
    answer = await first
    assert answer.status_code == 201, answer.text
    if key is not None:
        again = await send()
        assert (again.status_code, again.json()) == (201, answer.json())
    assert await limits(world) == ["8 mm"]


async def test_what_changes_nothing_for_a_limit_is_no_hindrance(world: World) -> None:
    """Yards, labels, and limits elsewhere that come in between are nothing that was not looked at: kept."""
    yard = {"slug": "heron-hook", "name": "Heron Hook", "region": "XO-KEL", "currency": "USD", "unit": "kg"}

    async def meanwhile(other: World) -> None:
        assert (await other.send("/v1/yards", yard, "sedge", Role.MAINTAINER)).status_code == 201
        await say(other, CINDER_LANE, labels=[{"label": "Girder", "grade": "steel-heavy"}])
        await say(other, "/v1/yards/low-quay", limits=[NINE])

    answer = await during(world, meanwhile, limits=[EIGHT])
    assert answer.status_code == 201, answer.text


async def test_a_worker_that_has_not_heard_of_a_version_asks_before_it_keeps(world: World) -> None:
    """Where another worker has published, one that has not heard of it keeps no limit unseen."""
    url = world.services.database.url.render_as_string(hide_password=False)
    app = create_app(Settings(database_url=url, ledger_poll_seconds=3600), clock=world.clock)
    async with talk_to(app) as client:
        deaf = World(app, client, world.clock, {"sedge": await world.key("sedge", Role.MAINTAINER)})
        assert len((await deaf.get("/v1/rulebooks"))["rulebooks"]) == 1
        await world.publish(in_so_many_words())
        detail = problem_of(await sent(deaf, CINDER_LANE, limits=[EIGHT]), "conflict").detail
        assert "version 2027.1" in detail
        problem_of(await sent(deaf, CINDER_LANE, limits=[EIGHT]), "invalid-request")
    assert await limits(world) == []


async def test_a_limit_that_leaves_a_hole_in_a_version_to_come_is_refused(world: World) -> None:
    """With its day, and what can be said first: a value for that day on, under which it may be kept."""
    await world.publish(in_so_many_words())
    problem = problem_of(await sent(world, CINDER_LANE, limits=[EIGHT]), "invalid-request")
    told = only(problem).detail
    assert told.startswith("From 2027-01-01 on: Under it some parts that are steel-heavy by rulebook 2027.1 ")
    assert "say first, from 2027-01-01 on, a value at which its rules meet" in told
    assert await limits(world) == []
    await say(world, CINDER_LANE, limits=[{**EIGHT, "value": "6 mm"}], from_="2027-01-01")
    await say(world, CINDER_LANE, limits=[EIGHT])


async def test_a_version_in_the_place_of_one_to_come_is_what_counts(world: World) -> None:
    """One that would never be in force, since another takes its place, is not looked at."""
    await world.publish(in_so_many_words())
    await world.publish(small_rulebook(version="2027.2", effective_from="2027-01-01"))
    await say(world, CINDER_LANE, limits=[EIGHT])
