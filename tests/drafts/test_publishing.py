"""What keeps a sound draft from being published: its day, its version, and what others have published."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
import yaml

from gradewright.accounts.service import Role
from gradewright.asgi import create_app
from gradewright.settings import Settings
from tests.api import World, only, problem_of, small_rulebook
from tests.conftest import talk_to
from tests.drafts.desk import LIMIT, NEXT, RAIL, SEDGE, TEAL, Desk


async def faults(desk: Desk, name: str) -> list[tuple[str, str]]:
    """Pointer and words of each fault that the check finds."""
    return [(fault["pointer"], fault["detail"]) for fault in (await desk.check(name))["faults"]]


async def test_a_worker_that_has_not_heard_of_a_version_loses_nothing(desk: Desk) -> None:
    """Where another worker has just published, the approval is refused whole: no version, no step."""
    made = await desk.make()
    await desk.taken(made["id"], "submission", SEDGE)
    url = desk.world.services.database.url.render_as_string(hide_password=False)
    app = create_app(Settings(database_url=url, ledger_poll_seconds=3600), clock=desk.world.clock)
    async with talk_to(app) as client:
        deaf = Desk(World(app, client, desk.world.clock, {RAIL: await desk.world.key(RAIL, Role.MAINTAINER)}))
        assert len((await deaf.world.get("/v1/rulebooks"))["rulebooks"]) == 1
        await desk.world.publish(small_rulebook(version="2026.9", effective_from="2026-09-01"))
        before = await desk.read(made["id"])
        answer = await deaf.step(made["id"], "approval", RAIL, before["etag"])
        assert "2026.9 brought would be lost" in problem_of(answer, "conflict").detail
    assert await desk.read(made["id"]) == before
    listed = (await desk.world.get("/v1/rulebooks"))["rulebooks"]
    assert [version["version"] for version in listed] == ["2020.1", "2026.9"]


@pytest.mark.parametrize("day", ["2026-05-04", "2026-05-03", "2020-06-01"])
async def test_a_day_that_has_begun_is_refused(desk: Desk, day: str) -> None:
    """A version that is in force from today or before would change valuations: submission says so."""
    made = await desk.make(version="2027.1", effective_from=day)
    [(pointer, detail)] = await faults(desk, made["id"])
    assert pointer == "#/effective_from"
    assert "today is 2026-05-04" in detail
    problem = problem_of(await desk.step(made["id"], "submission", SEDGE), "unsound-rulebook", 422)
    assert only(problem).pointer == "#/effective_from"
    assert "valuations have been given" in problem.detail


async def test_a_day_may_pass_before_the_approval(desk: Desk) -> None:
    """What was in time when submitted is refused at the approval on its day; tomorrow is in time."""
    made = await desk.make(version="2027.1", effective_from="2026-05-06")
    await desk.taken(made["id"], "submission", SEDGE)
    desk.world.later(days=2)
    problem = problem_of(await desk.step(made["id"], "approval", RAIL), "unsound-rulebook", 422)
    assert only(problem).pointer == "#/effective_from"
    assert (await desk.read(made["id"]))["state"] == "submitted"
    assert len((await desk.world.get("/v1/rulebooks"))["rulebooks"]) == 1
    await desk.taken(made["id"], "refusal", RAIL)
    etag = (await desk.read(made["id"]))["etag"]
    assert (await desk.patch(made["id"], {"effective_from": "2026-05-07"}, etag)).status_code == 200
    await desk.taken(made["id"], "submission", SEDGE)
    assert (await desk.taken(made["id"], "approval", RAIL))["state"] == "published"


async def test_a_version_that_is_published_is_refused(desk: Desk) -> None:
    """A correction is a new version: the name of one that is published is told, with what to do."""
    made = await desk.make(version="2020.1", effective_from="2027-01-01")
    [(pointer, detail)] = await faults(desk, made["id"])
    assert (pointer, "a number of its own" in detail) == ("#/version", True)
    problem_of(await desk.step(made["id"], "submission", SEDGE), "unsound-rulebook", 422)


async def test_a_number_is_spelled_in_one_way(desk: Desk) -> None:
    """2027.08 and 2027.8 are one number: the second of them is refused by the check, whatever its day."""
    await desk.world.publish(small_rulebook(version="2027.08", effective_from="2027-08-01"))
    made = await desk.make(version="2027.8")
    ((pointer, detail),) = await faults(desk, made["id"])
    assert pointer == "#/version"
    assert "Version 2027.08 is published, and 2027.8 is the same number" in detail
    problem_of(await desk.step(made["id"], "submission", SEDGE), "unsound-rulebook", 422)


async def test_a_version_that_was_published_since_is_not_lost(desk: Desk) -> None:
    """Check, submission and approval name it; once it is said to be brought in, the draft is published."""
    made = await desk.make()
    other = await desk.make()
    await desk.taken(made["id"], "submission", SEDGE)
    await desk.world.publish(small_rulebook(version="2026.9", effective_from="2026-09-01"))
    for name, step, who in ((other["id"], "submission", SEDGE), (made["id"], "approval", RAIL)):
        problem = problem_of(await desk.step(name, step, who), "unsound-rulebook", 422)
        assert "made from version 2020.1" in problem.detail
        assert "2026.9 brought would be lost" in problem.detail
    edited = await desk.patch(other["id"], LIMIT, other["etag"], base="2026.9")
    assert edited.json()["base"] == "2026.9"
    assert await faults(desk, other["id"]) == []
    await desk.taken(other["id"], "submission", SEDGE)
    await desk.taken(other["id"], "approval", RAIL)
    assert [pointer for pointer, _ in await faults(desk, made["id"])] == ["#/version"]


async def test_a_document_says_what_it_builds_on(desk: Desk) -> None:
    """One that was made from no version needs a base before it is submitted; it can be given at once."""
    document = small_rulebook(**NEXT)
    made = await desk.make(body={"document": document})
    [(pointer, detail)] = await faults(desk, made["id"])
    assert (pointer, "edit it with `base` 2020.1" in detail) == ("#/effective_from", True)
    problem = problem_of(await desk.step(made["id"], "submission", SEDGE), "unsound-rulebook", 422)
    assert problem.errors[0].detail == detail
    answer = await desk.send(
        "PUT",
        f"/{made['id']}",
        SEDGE,
        text=yaml.safe_dump(document, sort_keys=False),
        media="application/yaml",
        etag=made["etag"],
        why="x",
    )
    assert answer.status_code == 200, answer.text
    problem = problem_of(await desk.step(made["id"], "submission", SEDGE), "unsound-rulebook", 422)
    assert problem.errors[0].detail == f"line 2: {detail}"
    based = await desk.make(body={"document": document}, base="2020.1")
    assert await faults(desk, based["id"]) == []


async def test_a_base_that_begins_later_is_told(desk: Desk) -> None:
    """A draft of a version that is to come cannot begin before that."""
    await desk.world.publish(small_rulebook(version="2026.9", effective_from="2026-09-01"))
    made = await desk.make(body={"from": "2026.9"}, version="2026.8", effective_from="2026-08-01")
    [(pointer, detail)] = await faults(desk, made["id"])
    assert pointer == "#/effective_from"
    assert "begins on 2026-09-01" in detail


async def test_a_version_that_is_never_in_force_is_refused(desk: Desk) -> None:
    """Of two that begin on one day the higher number holds: the lower is told to be hidden."""
    await desk.world.publish(small_rulebook(version="2027.9", effective_from="2027-01-01"))
    made = await desk.make(body={"from": "2027.9"}, version="2027.1", effective_from="2027-01-01")
    [(pointer, detail)] = await faults(desk, made["id"])
    assert (pointer, "2027.9 begins on 2027-01-01 too" in detail) == ("#/version", True)


async def test_a_version_in_another_s_place_builds_on_it(desk: Desk) -> None:
    """A correction of a version that is to come begins on its day with a higher number, and is in force."""
    await desk.world.publish(small_rulebook(version="2027.1", effective_from="2027-01-01"))
    made = await desk.make(body={"from": "2027.1"}, version="2027.2")
    await desk.taken(made["id"], "submission", SEDGE)
    await desk.taken(made["id"], "approval", RAIL)
    desk.world.later(days=300)
    assert (await desk.world.get("/v1/rulebooks/in-force"))["version"] == "2027.2"


async def test_what_was_valued_before_stays_as_it_was(desk: Desk) -> None:
    """A kept valuation answers the same bytes after a version has come into force that grades otherwise."""
    world = desk.world
    part = {"name": "plate", "weight": "1 kg", "observed": {"metal": "steel", "thickness": "6.345 mm"}}
    body = {"region": "XO-KEL", "keep": True, "parts": [part]}
    kept = await world.send("/v1/valuations", body)
    assert kept.json()["parts"][0]["grade"] == "light-iron"
    made = await desk.make(version="2026.6", effective_from="2026-05-05")
    await desk.patch(made["id"], LIMIT, made["etag"])
    await desk.taken(made["id"], "submission", SEDGE)
    await desk.taken(made["id"], "approval", RAIL)
    world.later(days=1)
    new = await world.send("/v1/valuations", body)
    assert new.json()["parts"][0]["grade"] == "steel-heavy"
    name = kept.headers["valuation-id"]
    again: Any = await world.client.get(f"/v1/valuations/{name}")
    replayed = await world.client.post(f"/v1/valuations/{name}/replay")
    assert again.content == kept.content
    assert replayed.content == kept.content


async def test_a_summary_is_the_version_s_own(desk: Desk) -> None:
    """What the version before says of itself, word for word, is not submitted for another one."""
    before = small_rulebook()["summary"]
    made = await desk.make(summary=f"  {before}\n".strip())
    [(pointer, detail)] = await faults(desk, made["id"])
    assert (pointer, "2020.1 says of itself" in detail) == ("#/summary", True)
    problem = problem_of(await desk.step(made["id"], "submission", SEDGE), "unsound-rulebook", 422)
    assert only(problem).pointer == "#/summary"
    assert (await desk.patch(made["id"], {"summary": "Thicker."}, made["etag"])).status_code == 200
    await desk.taken(made["id"], "submission", SEDGE)


async def test_nor_is_it_that_of_another_version_that_it_was_made_from(desk: Desk) -> None:
    """A draft that begins with a later version's document, and builds on an earlier one, has its words."""
    later = {"version": "2026.9", "effective_from": "2026-09-01", "summary": "As of June.", "title": "June"}
    await desk.world.publish(small_rulebook(**later))
    made = await desk.make(
        body={"from": "2026.9"}, base="2020.1", version="2026.8", effective_from="2026-08-01"
    )
    changed = await desk.patch(made["id"], {"summary": "As of June."}, made["etag"])
    assert changed.status_code == 200
    [(pointer, detail)] = await faults(desk, made["id"])
    assert (pointer, "2026.9 says of itself" in detail) == ("#/summary", True)
    assert "Its title is 2026.9's, word for word: June." in (await desk.check(made["id"]))["notes"][0]


async def test_the_first_version_of_all_may_have_begun(world_without_rulebook: World) -> None:
    """Where no version is published nothing was valued: a document of one's own comes in as a draft, proved
    and looked at by a second maintainer, for a day gone by too. The next one may not."""
    desk = Desk(world_without_rulebook)
    made = await desk.make(body={"document": small_rulebook()})
    found = await desk.check(made["id"])
    assert (found["sound"], found["proved"], found["faults"]) == (True, True, [])
    await desk.taken(made["id"], "submission", SEDGE)
    refused = await desk.step(made["id"], "approval", SEDGE)
    problem_of(refused, "forbidden", 403)
    await desk.taken(made["id"], "approval", RAIL)
    assert (await desk.world.get("/v1/rulebooks/in-force"))["version"] == "2020.1"
    second = await desk.make(effective_from="2021-01-01")
    assert [pointer for pointer, _ in await faults(desk, second["id"])] == ["#/effective_from"]


async def test_the_days_that_are_told_are_those_of_the_check(desk: Desk) -> None:
    """The check says for which day it was made, of which step, by its hash."""
    made = await desk.make(TEAL)
    found = await desk.check(made["id"])
    assert (date.fromisoformat(found["on"]), found["step"], found["sha256"]) == (
        date(2026, 5, 4), 1, made["sha256"],
    )  # fmt: skip


async def test_a_title_that_stays_is_a_note(desk: Desk) -> None:
    """A title that is the base's word for word is no fault: check and submission say to look at it."""
    made = await desk.make()
    [note] = (await desk.check(made["id"]))["notes"]
    assert note.startswith("Its title is 2020.1's, word for word: A small rulebook.")
    assert (await desk.taken(made["id"], "submission", SEDGE))["notes"] == [note]
    await desk.taken(made["id"], "refusal", RAIL)
    etag = (await desk.read(made["id"]))["etag"]
    assert (await desk.patch(made["id"], {"title": "Another small rulebook"}, etag)).status_code == 200
    assert (await desk.check(made["id"]))["notes"] == []


async def test_words_that_tell_the_value_before_of_a_limit_are_a_note(desk: Desk) -> None:
    """A limit that moved while its words did not: the check says which, with both values."""
    limit = {"value": "7 mm", "means": "Heavy from here on (1/4 in)."}
    made = await desk.make()
    await desk.patch(made["id"], {"limits": {"heavy_steel_thickness": limit}, "examples": []}, made["etag"])
    notes = (await desk.check(made["id"]))["notes"]
    [note] = [note for note in notes if note.startswith("The limit ")]
    assert "is 7 mm here and 6.35 mm in 2020.1, and its `means` still says 1/4 in" in note


async def test_faults_of_all_kinds_are_told_at_once(desk: Desk) -> None:
    """A key that nobody knows, one that lacks, a value that is none and a day that is past: in one check. Who
    mends them is told what could not be seen before."""
    document = small_rulebook(version="2020.2", effective_from="2020-02-01")
    document["titel"] = document.pop("title")
    document["limits"]["heavy_steel_thickness"]["value"] = "banana"
    made = await desk.make(body={"document": document}, base="2020.1")
    told = dict(await faults(desk, made["id"]))
    assert set(told) == {
        "#/titel",
        "#/title",
        "#/limits/heavy_steel_thickness/value",
        "#/effective_from",
        "#/summary",
    }
    assert "banana" in told["#/limits/heavy_steel_thickness/value"]
    assert "today is" in told["#/effective_from"]
    document["rules"][0]["id"] = 7  # a shape in which nothing further can be looked for
    answer = await desk.put(made["id"], document, made["etag"])
    assert answer.status_code == 200
    assert {"#/titel", "#/title", "#/rules/0/id"} <= set(dict(await faults(desk, made["id"])))
