"""Faults that a draft has from the version that it was made from, and the way out."""

from __future__ import annotations

from typing import Any

import pytest

from tests.api import Body, problem_of, small_rulebook
from tests.drafts.desk import LIMIT, RAIL, SEDGE, Desk

HOLED = {"version": "2026.1", "effective_from": "2026-05-05", "title": "The holed one"}
LATER = {"version": "2026.9", "effective_from": "2026-09-01", "title": "The proved one", "summary": "Proved."}
LATE = {"effective_from": "2028-01-01"}
MINE = {"version": "2026.5", "effective_from": "2026-06-01", "summary": "Mine."}


def holed(**more: Any) -> Body:
    """A version in which steel between 6 mm and where heavy steel begins has no answer."""
    made = small_rulebook(**{**HOLED, **more})
    made["rules"][3]["when"]["thickness"] = {"below": "6 mm"}
    made["examples"] = [
        example for example in made["examples"] if example["part"].get("thickness") != "6.34 mm"
    ]
    return made


async def _in_force(desk: Desk, document: Body, later: Body | None = None) -> None:
    await desk.world.publish(document)
    if later is not None:
        await desk.world.publish(later)
    desk.world.later(days=2)
    assert (await desk.world.get("/v1/rulebooks/in-force"))["version"] == "2026.1"


async def test_what_was_there_before_is_told_as_that_and_the_way_out_works(desk: Desk) -> None:
    """The check of a draft of such a version, and its submission, say first that it has these faults of it,
    and what to do; that done, the correction is published and in force."""
    await _in_force(desk, holed(), small_rulebook(**LATER))
    made = await desk.make(body={"from": "2026.1"}, **MINE)
    found = await desk.check(made["id"])
    assert (found["sound"], found["proved"], len(found["faults"])) == (False, True, 1)
    assert found["says"].startswith("2026.1, on which it builds, has this fault too: it was published bef")
    assert (
        "; or make another draft, `from` 2026.9, in which nothing of the kind is found, with `base` 2026.1"
        in (found["says"])
    )
    refused = problem_of(await desk.step(made["id"], "submission", SEDGE), "unsound-rulebook", 422)
    assert found["says"] in refused.detail
    await desk.taken(made["id"], "withdrawal", SEDGE)

    again = await desk.make(body={"from": "2026.9"}, base="2026.1", **MINE)
    assert (again["base"], again["made_from"]["version"]) == ("2026.1", "2026.9")
    patch = {**LIMIT, "title": "Mine"}
    assert (await desk.patch(again["id"], patch, again["etag"])).status_code == 200
    found = await desk.check(again["id"])
    assert (found["sound"], found["says"], found["faults"]) == (True, None, [])
    await desk.taken(again["id"], "submission", SEDGE)
    await desk.taken(again["id"], "approval", RAIL, ended_by="2026.9")
    desk.world.later(days=40)
    assert (await desk.world.get("/v1/rulebooks/in-force"))["version"] == "2026.5"


async def test_the_way_out_is_the_nearest_version_in_which_nothing_is_found(desk: Desk) -> None:
    """Not one that has the fault too, and not a later one, which would bring more with it; and what the draft
    would take the place of is its base, whatever it was made from. Faults of both kinds are counted."""
    await desk.world.publish(holed())
    await desk.world.publish(holed(version="2026.2", effective_from="2026-05-10", title="Holed too"))
    for version, begins in (("2026.7", "2026-07-01"), ("2026.8", "2026-08-01")):
        later = {**LATER, "version": version, "effective_from": begins, "title": version}
        await desk.world.publish(small_rulebook(**later))
    made = await desk.make(body={"from": "2026.1"}, **MINE)
    found = await desk.check(made["id"])
    assert [fault["pointer"] for fault in found["faults"]][:1] == ["#/effective_from"]
    count = len(found["faults"])
    assert f"has {count - 1} of these {count} faults too" in found["says"]
    assert "`from` 2026.7, in which nothing of the kind is found, with `base` 2026.2" in found["says"]


async def test_its_own_faults_are_not_laid_to_the_version_before(desk: Desk) -> None:
    """How many there are of both is told; where it builds on none, nothing is said."""
    await _in_force(desk, holed())
    made = await desk.make(body={"from": "2026.1"}, **MINE)
    examples = holed()["examples"]
    examples[0] = {**examples[0], "grade": "light-iron"}
    assert (await desk.patch(made["id"], {"examples": examples}, made["etag"])).status_code == 200
    found = await desk.check(made["id"])
    assert found["faults"][0]["pointer"] == "#/examples/0"
    assert len(found["faults"]) == 2
    assert found["says"] == (
        "2026.1, on which it builds, has 1 of these 2 faults too: it was published before anything looked "
        "for them, and never changes. Mend them here."
    )
    alone = await desk.make(body={"document": holed(version="2026.5", effective_from="2026-06-01")})
    assert (await desk.check(alone["id"]))["says"] is None


@pytest.mark.parametrize("own", [{"effective_from": "the first of May"}, {"version": "next"}])
async def test_a_draft_s_own_day_and_number_are_nobody_else_s(desk: Desk, own: Body) -> None:
    """What is wrong with them is no fault of the version before."""
    made = await desk.make()
    changed = await desk.patch(made["id"], own, made["etag"])
    assert changed.status_code == 200, changed.text
    found = await desk.check(made["id"])
    assert [fault["pointer"] for fault in found["faults"]] == [f"#/{name}" for name in own]
    assert found["says"] is None


async def test_faults_that_are_seen_before_the_proof(desk: Desk) -> None:
    """What is asked of later versions only, and keeps the draft from being proved, is told of the version
    before as well, though nothing was asked of that; and that there may be more."""
    document = holed(effective_from="2026-05-05")
    document["rules"][3]["confidence"] = "disputed"
    await _in_force(desk, document)
    found = await desk.check((await desk.make(body={"from": "2026.1"}, **{**MINE, **LATE}))["id"])
    assert [fault["detail"].split(": ")[1] for fault in found["faults"]] == [
        "it is disputed, and nothing says what would settle it"
    ]
    assert not found["proved"]
    assert "this fault too (more may be found once it is proved): it was published" in found["says"]
