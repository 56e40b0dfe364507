"""A version that is published with a day before that of a later one ends with that: nobody loses what it
changes without having been told, and having said that it is meant."""

from __future__ import annotations

from typing import Any

import httpx
import pytest

from tests.api import problem_of, small_rulebook
from tests.drafts.desk import LIMIT, RAIL, SEDGE, Desk
from tests.drafts.test_meanwhile import LOW_QUAY, during, say, submitted

LATER = {"version": "2028.1", "effective_from": "2028-01-01", "summary": "The third.", "title": "The third"}


async def _earlier(desk: Desk, later: dict[str, Any] | None = None) -> str:
    """A draft of a limit for 2027, where 2028 has a version already that was made beside it."""
    await desk.world.publish(small_rulebook(**LATER, **later or {}))
    made = await desk.make()
    assert (await desk.patch(made["id"], {**LIMIT, "title": "The second"}, made["etag"])).status_code == 200
    return str(made["id"])


async def test_the_check_says_what_is_gone_and_when(desk: Desk) -> None:
    """It names the later version, its day and each place that the draft changes and that version has
    otherwise; not among the notes. So does the submission."""
    name = await _earlier(desk)
    found = await desk.check(name)
    assert (found["sound"], found["notes"]) == (True, [])
    told = found["ended_by"]
    assert (told["version"], told["effective_from"], told["changed"]) == ("2028.1", "2028-01-01", 1)
    assert [(each["pointer"], each["after"]) for each in told["changes"]] == [
        ("#/limits/heavy_steel_thickness/value", '"6.345 mm"')
    ]
    assert "is gone then: limit heavy_steel_thickness, value." in told["detail"]
    assert "`ended_by` 2028.1" in told["detail"]
    submitted = await desk.taken(name, "submission", SEDGE)
    assert (submitted["ended_by"], submitted["notes"]) == (told, [])


async def test_who_approves_says_that_it_is_meant(desk: Desk) -> None:
    """Without the word, or with another version's name, nothing is stored, and it is told what to send; with
    it the version is published, and is over on the day that was told."""
    name = await _earlier(desk)
    await desk.taken(name, "submission", SEDGE)
    before, revision = await desk.read(name), await desk.world.revision()
    for says in ({}, {"ended_by": "2020.1"}):
        problem = problem_of(await desk.step(name, "approval", RAIL, **says), "invalid-request", 422)
        assert [error.pointer for error in problem.errors] == ["#/ended_by"]
        assert "limit heavy_steel_thickness, value" in problem.detail
        assert "`ended_by` 2028.1" in problem.detail
    assert await desk.read(name) == before
    assert await desk.world.revision() == revision
    assert (await desk.taken(name, "approval", RAIL, ended_by="2028.1"))["state"] == "published"
    listed = (await desk.world.get("/v1/rulebooks"))["rulebooks"]
    assert {each["version"]: each["in_force_until"] for each in listed}["2027.1"] == "2027-12-31"


async def test_what_a_place_says_of_days_after_the_end_is_no_hindrance(desk: Desk) -> None:
    """Said during the check of an approval: from the day on which the later version takes over it is kept,
    and the version is published; a day earlier it would have to be looked at."""
    name = await _earlier(desk)
    await desk.taken(name, "submission", SEDGE)
    limit = {"limit": "heavy_steel_thickness", "value": "8 mm"}

    async def approved(begins: str) -> httpx.Response:
        async def meanwhile() -> None:
            await say(desk.world, LOW_QUAY, limit, **{"from": begins})

        return await during(desk, name, "approval", RAIL, meanwhile, ended_by="2028.1")

    problem = problem_of(await approved("2027-12-31"), "conflict", 409)
    assert "heavy_steel_thickness is 8 mm" in problem.detail
    lifted = {"limit": "heavy_steel_thickness", "value": None}
    await say(desk.world, LOW_QUAY, lifted, **{"from": "2027-12-31"})
    taken = await approved("2028-01-01")
    assert taken.status_code == 201, taken.text


async def test_what_ends_nothing_is_not_said(desk: Desk) -> None:
    """A name given where no later version is published is refused: whoever gave it had another one before
    their eyes. Without it the draft is published, and nothing is told of an end."""
    made = await desk.make()
    submitted = await desk.taken(made["id"], "submission", SEDGE)
    assert submitted["ended_by"] is None
    refused = await desk.step(made["id"], "approval", RAIL, ended_by="2020.1")
    assert "Leave it out." in problem_of(refused, "invalid-request", 422).detail
    assert (await desk.taken(made["id"], "approval", RAIL))["ended_by"] is None


@pytest.mark.parametrize("step", ["submission", "refusal", "withdrawal"])
async def test_only_an_approval_says_it(desk: Desk, step: str) -> None:
    """The other steps have no such word: there it would mean nothing."""
    made = await desk.make()
    problem_of(await desk.step(made["id"], step, SEDGE, ended_by="2028.1"), "invalid-request", 422)


async def test_what_the_later_version_has_too_is_not_gone(desk: Desk) -> None:
    """Of what the draft changes only that is told which the later version does not have just so."""
    limit = small_rulebook()["limits"]["heavy_steel_thickness"]
    name = await _earlier(desk, {"limits": {"heavy_steel_thickness": {**limit, "value": "6.345 mm"}}})
    told = (await desk.check(name))["ended_by"]
    assert (told["version"], told["changed"], told["changes"]) == ("2028.1", 0, [])
    assert "By its text 2028.1 has all that this one changes." in told["detail"]


async def test_the_first_of_several_ends_it(desk: Desk) -> None:
    """Of many later versions the one that is in force first is told, once; of two of one day the higher."""
    for number, day in ((1, "2028-01-01"), (2, "2028-01-01"), (3, "2028-06-01"), (4, "2028-07-01")):
        await desk.world.publish(small_rulebook(version=f"2028.{number}", effective_from=day))
    found = await desk.check((await desk.make())["id"])
    assert found["ended_by"]["version"] == "2028.2"
    assert "and 2 more from later days on" in found["ended_by"]["detail"]
    assert not [note for note in found["notes"] if "2028" in note]


async def test_a_later_one_that_is_published_during_the_check(desk: Desk) -> None:
    """Where it comes in between the check and the step, nobody has been asked yet: nothing is stored, and
    the next approval is."""
    name = await submitted(desk)
    answer = await during(desk, name, "approval", RAIL, lambda: desk.world.publish(small_rulebook(**LATER)))
    assert "version 2028.1 was published, which ends this one" in problem_of(answer, "conflict", 409).detail
    assert (await desk.read(name))["state"] == "submitted"
    problem_of(await desk.step(name, "approval", RAIL), "invalid-request", 422)
    await desk.taken(name, "approval", RAIL, ended_by="2028.1")
