"""Several maintainers at once, over two workers: nothing is lost, and nothing happens twice."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from typing import Any

import httpx
import pytest

from gradewright.accounts.service import Role
from tests.api import problem_of
from tests.drafts.desk import RAIL, SEDGE, TEAL, Desk

CLIENTS = 16


async def test_of_sixteen_at_once_each_lands_or_is_told(desk: Desk) -> None:
    """Sixteen maintainers on two workers change a limit each, with the ETag that they have read, until it has
    landed: the draft has all sixteen, one step each, and every other try was told to be stale."""
    made = await desk.make()
    name = made["id"]
    people = [f"hand-{letter}" for letter in "abcdefghijklmnop"]
    stale = 0
    async with desk.world.another() as other:
        desks = (desk, replace(desk, world=other))
        for who in people:
            for one in desks:
                await one.world.key(who, Role.MAINTAINER)

        async def write(number: int, who: str) -> None:
            nonlocal stale
            at = desks[number % 2]
            patch = {"limits": {f"limit_{number}": {"value": f"{number} mm", "means": "x", "source": "x"}}}
            for _ in range(200):
                etag = (await at.read(name, who))["etag"]
                answer = await at.patch(name, patch, etag, who)
                if answer.status_code == 200:
                    assert [change["pointer"] for change in answer.json()["taken"]["changes"]] == [
                        f"#/limits/limit_{number}"
                    ]
                    return
                problem_of(answer, "precondition-failed", 412)
                stale += 1
            raise AssertionError(f"{who} never landed")

        await asyncio.gather(*(write(number, who) for number, who in enumerate(people)))
    whole = await desk.read(name)
    assert {f"limit_{number}" for number in range(CLIENTS)} <= set(whole["document"]["limits"])
    assert sorted(step["by"] for step in whole["steps"]) == sorted([SEDGE, *people])
    assert [step["number"] for step in whole["steps"]] == list(range(1, CLIENTS + 2))
    assert stale > 0, "nobody was in anybody's way"


async def test_with_the_same_tag_one_of_sixteen_lands(desk: Desk) -> None:
    """Of sixteen who have all read the same step, one edits; fifteen are told whose edit it was."""
    made = await desk.make()
    async with desk.world.another() as other:
        desks = (desk, replace(desk, world=other))
        for who in (SEDGE, RAIL):
            other.keys[who] = await desk.world.key(who, Role.MAINTAINER)
        answers = await asyncio.gather(
            *(
                desks[number % 2].patch(
                    made["id"], {"title": f"Title {number}"}, made["etag"], (SEDGE, RAIL)[number % 2]
                )
                for number in range(CLIENTS)
            )
        )
    landed = [answer for answer in answers if answer.status_code == 200]
    assert len(landed) == 1
    for answer in answers:
        if answer is not landed[0]:
            problem = problem_of(answer, "precondition-failed", 412)
            assert answer.headers["etag"] == landed[0].headers["etag"]
            assert f"{landed[0].json()['changed_by']} edited it" in problem.errors[0].detail
    assert (await desk.read(made["id"]))["document"]["title"] == landed[0].json()["title"]


async def test_made_at_once_each_draft_has_a_name_of_its_own(desk: Desk) -> None:
    """Sixteen drafts made at the same moment on two workers are sixteen drafts."""
    async with desk.world.another() as other:
        other.keys[SEDGE] = await desk.world.key(SEDGE, Role.MAINTAINER)
        desks = (desk, replace(desk, world=other))
        made = await asyncio.gather(*(desks[number % 2].make() for number in range(CLIENTS)))
    assert {draft["id"] for draft in made} == {f"d-{number}" for number in range(1, CLIENTS + 1)}


async def _together(desk: Desk, *asked: tuple[str, str, str]) -> list[httpx.Response]:
    """Steps taken at the same moment by several, on two workers in turn."""
    etags = {name: (await desk.read(name))["etag"] for name, _, _ in asked}
    async with desk.world.another() as other:
        desks = (desk, replace(desk, world=other))
        for _, _, who in asked:
            other.keys[who] = await desk.world.key(who, Role.MAINTAINER)
        return list(
            await asyncio.gather(
                *(
                    desks[number % 2].step(name, step, who, etags[name])
                    for number, (name, step, who) in enumerate(asked)
                )
            )
        )


async def test_of_two_drafts_of_one_version_one_is_published(desk: Desk) -> None:
    """Two drafts of the same version for the same day, approved at the same moment: one is published; the
    other does not have its changes, and stays submitted."""
    made = [await desk.make(version=f"2027.{number}") for number in (1, 2)]
    for draft in made:
        await desk.taken(draft["id"], "submission", SEDGE)
    answers = await _together(desk, *((draft["id"], "approval", RAIL) for draft in made))
    assert sorted(answer.status_code == 201 for answer in answers) == [False, True], answers
    states = sorted([(await desk.read(draft["id"]))["state"] for draft in made])
    assert states == ["published", "submitted"]
    assert len(await _published(desk)) == 2


async def test_two_approvals_publish_once(desk: Desk) -> None:
    """Two maintainers approve the same draft at the same moment: one step, one version, one revision."""
    made = await desk.make()
    await desk.taken(made["id"], "submission", SEDGE)
    before = await desk.world.revision()
    answers = await _together(desk, (made["id"], "approval", RAIL), (made["id"], "approval", TEAL))
    assert sorted(answer.status_code for answer in answers) == [201, 412]
    assert [step["step"] for step in (await desk.read(made["id"]))["steps"]] == [
        "made", "submitted", "approved",
    ]  # fmt: skip
    assert await desk.world.revision() == before + 1


async def test_who_comes_after_an_approval_is_told_of_it(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """An approval whose check finds the version published, by another's approval since, is stale."""
    made = await desk.make()
    submitted = await desk.taken(made["id"], "submission", SEDGE)
    drafts = desk.world.services.drafts
    checked = drafts._checked

    async def late(*asked: Any) -> Any:
        monkeypatch.undo()
        await desk.taken(made["id"], "approval", RAIL)
        return await checked(*asked)

    await desk.check(made["id"])
    monkeypatch.setattr(drafts, "look_ahead", _nothing)
    monkeypatch.setattr(drafts, "_checked", late)
    answer = await desk.step(made["id"], "approval", TEAL, submitted["etag"])
    assert "rail approved it" in problem_of(answer, "precondition-failed", 412).errors[0].detail


async def _nothing(*_: Any) -> None:
    """What is looked at ahead has been looked at already."""


@pytest.mark.parametrize("step", ["refusal", "withdrawal"])
async def test_approved_and_turned_down_at_once_is_one_of_them(desk: Desk, step: str) -> None:
    """Either the version is published or the draft was turned down, never both."""
    made = await desk.make()
    await desk.taken(made["id"], "submission", SEDGE)
    answers = await _together(desk, (made["id"], "approval", RAIL), (made["id"], step, TEAL))
    assert sorted(answer.status_code for answer in answers) == [201, 412]
    state = (await desk.read(made["id"]))["state"]
    published = [version["version"] for version in await _published(desk)]
    assert (state == "published") == ("2027.1" in published)


async def _published(desk: Desk) -> list[dict[str, str]]:
    found: list[dict[str, str]] = (await desk.world.get("/v1/rulebooks"))["rulebooks"]
    return found
