"""What happens between the check of a step and the step: nothing is taken unseen, and nothing in part."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Any

import httpx
import pytest

from gradewright.accounts.service import Role
from gradewright.asgi import create_app
from gradewright.settings import Settings
from tests.api import Body, World, problem_of, small_rulebook
from tests.conftest import talk_to
from tests.drafts.desk import NEXT, RAIL, SEDGE, TEAL, Desk

Meanwhile = Callable[[], Awaitable[Any]]
LOW_QUAY, KELDER_BAY = "/v1/yards/low-quay", "/v1/regions/XO-KEL"
EIGHT = {"limit": "heavy_steel_thickness", "value": "8 mm"}
"""Under it steel from 6.35 mm on has no answer where thin steel ends there in so many words."""


def in_so_many_words() -> Body:
    """A version in which thin steel ends at 6.35 mm, wherever heavy steel begins."""
    made = small_rulebook(**NEXT, title="Another small rulebook")
    made["rules"][3]["when"]["thickness"] = {"below": "6.35 mm"}
    return made


async def during(
    desk: Desk, name: str, step: str, who: str, meanwhile: Meanwhile, **body: Any
) -> httpx.Response:
    """The answer to a step after whose check, and before which, something else happens."""
    drafts, etag = desk.world.services.drafts, (await desk.read(name))["etag"]
    checked = drafts._checked

    async def then(*asked: Any) -> Any:
        found = await checked(*asked)
        patched.undo()
        await meanwhile()
        return found

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(drafts, "look_ahead", _nothing)
        patched.setattr(drafts, "_checked", then)
        return await desk.step(name, step, who, etag, **body)


async def _nothing(*_: Any) -> None:
    """What is looked at ahead is looked at by the step itself too."""


async def submitted(desk: Desk, **body: Any) -> str:
    """The name of a draft that waits for a second maintainer."""
    made = await (desk.make(body=body, base="2020.1") if body else desk.make())
    name: str = made["id"]
    await desk.taken(name, "submission", SEDGE)
    return name


async def say(world: World, place: str, *limits: Body, status: int = 201, **more: Any) -> httpx.Response:
    """House rules, and how they were answered."""
    body = {"reason": "Sign at the gate.", "limits": [*limits], **more}
    answer = await world.send(f"{place}/house-rules", body, TEAL, Role.MAINTAINER)
    assert answer.status_code == status, answer.text
    return answer


async def untaken(desk: Desk, name: str, before: Any) -> None:
    """Sees that a draft stands as it did, and that nothing was published."""
    assert await desk.read(name) == before
    assert [each["version"] for each in (await desk.world.get("/v1/rulebooks"))["rulebooks"]] == ["2020.1"]


@pytest.mark.parametrize("place", [LOW_QUAY, KELDER_BAY])
async def test_a_limit_that_is_said_during_the_check_is_looked_at(desk: Desk, place: str) -> None:
    """A place's limit that nobody has looked at keeps the version from being published, with where it holds
    and what to do; the approval that follows finds the hole."""
    name = await submitted(desk, document=in_so_many_words())
    before = await desk.read(name)
    answer = await during(desk, name, "approval", RAIL, lambda: say(desk.world, place, EIGHT))
    detail = problem_of(answer, "conflict").detail
    within = "at Low Quay" if place == LOW_QUAY else "in Kelder Bay"
    assert f"{within} heavy_steel_thickness is 8 mm" in detail
    assert "Nothing was stored. Approve it again: it is checked anew" in detail
    await untaken(desk, name, before)
    problem = problem_of(await desk.step(name, "approval", RAIL), "unsound-rulebook", 422)
    assert f"{within[0].upper()}{within[1:]} (heavy_steel_thickness 8 mm)" in problem.detail
    assert "gets no grade: metal: " in problem.detail


async def test_limits_that_were_looked_at_are_no_hindrance(desk: Desk) -> None:
    """One that is said again, or lifted, during the check brings nothing that was not seen: published."""
    name = await submitted(desk)
    await say(desk.world, LOW_QUAY, EIGHT)
    await say(desk.world, KELDER_BAY, {**EIGHT, "value": "7 mm"})

    async def meanwhile() -> None:
        await say(desk.world, "/v1/yards/cinder-lane", EIGHT)
        await say(desk.world, LOW_QUAY, {**EIGHT, "value": None})

    answer = await during(desk, name, "approval", RAIL, meanwhile)
    assert answer.status_code == 201, answer.text


async def test_a_worker_that_has_not_heard_of_a_limit_asks_before_it_publishes(desk: Desk) -> None:
    """Where another worker has kept a limit, one that has not heard of it publishes nothing unseen."""
    name = await submitted(desk, document=in_so_many_words())
    url = desk.world.services.database.url.render_as_string(hide_password=False)
    app = create_app(Settings(database_url=url, ledger_poll_seconds=3600), clock=desk.world.clock)
    async with talk_to(app) as client:
        deaf = Desk(World(app, client, desk.world.clock, {RAIL: await desk.world.key(RAIL, Role.MAINTAINER)}))
        assert len((await deaf.world.get("/v1/rulebooks"))["rulebooks"]) == 1
        await say(desk.world, LOW_QUAY, EIGHT)
        before = await desk.read(name)
        answer = await deaf.step(name, "approval", RAIL, before["etag"])
        assert "at Low Quay" in problem_of(answer, "conflict").detail
    await untaken(desk, name, before)


async def test_a_day_that_begins_during_the_check_is_past(desk: Desk) -> None:
    """An approval that is begun before midnight and would be kept after it, for that very day, is refused
    whole; a valuation of the day that was kept meanwhile stays as it was."""
    world = desk.world
    made = await desk.make(effective_from="2026-05-05", version="2026.5")
    await desk.taken(made["id"], "submission", SEDGE)
    world.clock.now = world.clock.now.replace(hour=23, minute=59, second=55)
    before = await desk.read(made["id"])
    part = {"name": "plate", "weight": "1 kg", "observed": {"metal": "steel", "thickness": "7 mm"}}
    asked = {"region": "XO-KEL", "keep": True, "parts": [part]}
    kept = []

    async def meanwhile() -> None:
        world.later(seconds=10)
        kept.append(await world.send("/v1/valuations", asked))

    answer = await during(desk, made["id"], "approval", RAIL, meanwhile)
    detail = problem_of(answer, "conflict").detail
    assert "in force from 2026-05-05, and today is 2026-05-05" in detail
    assert "Nothing was stored" in detail
    await untaken(desk, made["id"], before)
    again = await world.send("/v1/valuations", {**asked, "keep": False})
    assert again.json()["parts"] == kept[0].json()["parts"]
    assert again.json()["pins"]["rulebook"] == kept[0].json()["pins"]["rulebook"] == "2020.1"


@pytest.mark.parametrize(("step", "who"), [("submission", SEDGE), ("approval", RAIL)])
async def test_a_step_is_recorded_when_it_is_taken(desk: Desk, step: str, who: str) -> None:
    """Not when it was asked for, which may be a queue and a check before."""
    name = (await desk.make())["id"] if step == "submission" else await submitted(desk)

    async def meanwhile() -> None:
        desk.world.later(seconds=30)

    assert (await during(desk, name, step, who, meanwhile)).status_code == 201
    assert (await desk.read(name))["steps"][-1]["at"] == "2026-05-04T09:12:30Z"


async def test_an_edit_during_a_submission_is_seen(desk: Desk) -> None:
    """What another has written since was not looked at: nothing is submitted, and who and what is told."""
    name = (await desk.make())["id"]

    async def meanwhile() -> None:
        etag = (await desk.read(name))["etag"]
        assert (await desk.patch(name, {"title": "Other words"}, etag, TEAL)).status_code == 200

    answer = await during(desk, name, "submission", SEDGE, meanwhile)
    assert "teal edited it" in problem_of(answer, "precondition-failed", 412).errors[0].detail
    found = await desk.read(name)
    assert (found["state"], found["document"]["title"]) == ("draft", "Other words")
    assert [step["step"] for step in found["steps"]] == ["made", "edited"]


async def test_an_edit_during_an_approval_is_seen(desk: Desk) -> None:
    """Sent back, edited and submitted again while it is checked, it is another document: not approved."""
    name = await submitted(desk)
    before = await desk.read(name)

    async def meanwhile() -> None:
        await desk.taken(name, "refusal", TEAL)
        etag = (await desk.read(name))["etag"]
        assert (await desk.patch(name, {"title": "Other words"}, etag)).status_code == 200
        await desk.taken(name, "submission", SEDGE)

    answer = await during(desk, name, "approval", RAIL, meanwhile)
    told = [error.detail for error in problem_of(answer, "precondition-failed", 412).errors]
    assert ["teal refused it" in told[0], "sedge edited it" in told[1]] == [True, True]
    found = await desk.read(name)
    assert (found["state"], found["document"]["title"]) == ("submitted", "Other words")
    assert len(found["steps"]) == len(before["steps"]) + 3
    assert len((await desk.world.get("/v1/rulebooks"))["rulebooks"]) == 1


@pytest.mark.parametrize(("step", "who"), [("submission", SEDGE), ("approval", RAIL)])
async def test_a_withdrawal_during_the_check_is_seen(desk: Desk, step: str, who: str) -> None:
    """Who submits or approves is told who has withdrawn it meanwhile; it stays so."""
    name = (await desk.make())["id"] if step == "submission" else await submitted(desk)
    answer = await during(desk, name, step, who, lambda: desk.taken(name, "withdrawal", TEAL))
    assert "teal withdrew it" in problem_of(answer, "precondition-failed", 412).errors[0].detail
    assert (await desk.read(name))["state"] == "withdrawn"
    assert len((await desk.world.get("/v1/rulebooks"))["rulebooks"]) == 1
