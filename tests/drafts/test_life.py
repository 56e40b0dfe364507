"""The life of a draft: every step in every state, by whom, and what is kept of it."""

from __future__ import annotations

import pytest

from tests.api import only, problem_of
from tests.drafts.desk import LIMIT, RAIL, SEDGE, TEAL, Desk

STATES = ("draft", "submitted", "published", "withdrawn")
ALLOWED = {
    ("draft", "edit"): "draft",
    ("draft", "submission"): "submitted",
    ("draft", "withdrawal"): "withdrawn",
    ("submitted", "refusal"): "draft",
    ("submitted", "approval"): "published",
    ("submitted", "withdrawal"): "withdrawn",
}
"""State and step -> the state after it; every other pair is refused."""
STEPS = ("edit", "submission", "refusal", "approval", "withdrawal")


async def brought_to(desk: Desk, state: str) -> str:
    """The name of a draft of SEDGE's in a state."""
    name: str = (await desk.make())["id"]
    if state in {"submitted", "published"}:
        await desk.taken(name, "submission", SEDGE)
    if state == "published":
        await desk.taken(name, "approval", RAIL)
    if state == "withdrawn":
        await desk.taken(name, "withdrawal", SEDGE)
    assert (await desk.read(name))["state"] == state
    return name


@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize("state", STATES)
async def test_each_step_is_taken_from_its_states_alone(desk: Desk, state: str, step: str) -> None:
    """A step leads where the table says; in any other state it is a conflict, and nothing is kept."""
    name = await brought_to(desk, state)
    before = await desk.read(name)
    if step == "edit":
        answer = await desk.patch(name, LIMIT, before["etag"], RAIL)
    else:
        answer = await desk.step(name, step, RAIL)
    after = await desk.read(name)
    if (state, step) in ALLOWED:
        assert answer.status_code in {200, 201}, answer.text
        assert after["state"] == answer.json()["state"] == ALLOWED[state, step]
        assert len(after["steps"]) == len(before["steps"]) + 1
    else:
        problem = problem_of(answer, "wrong-state")
        assert name in problem.detail
        assert "draft" in problem.detail
        assert after == before


async def test_a_draft_becomes_a_published_version(desk: Desk) -> None:
    """Draft, edited, submitted, approved by a second: the version is there whole, sealed, and named."""
    made = await desk.make()
    assert (made["state"], made["version"], made["base"], made["step"]) == ("draft", "2027.1", "2020.1", 1)
    edited = (await desk.patch(made["id"], LIMIT, made["etag"])).json()
    assert edited["taken"]["changes"] == [
        {
            "change": "changed",
            "pointer": "#/limits/heavy_steel_thickness/value",
            "place": "limit heavy_steel_thickness, value",
            "before": '"6.35 mm"',
            "after": '"6.345 mm"',
        }
    ]
    assert (await desk.check(made["id"]))["faults"] == []
    before = await desk.world.revision()
    await desk.taken(made["id"], "submission", SEDGE)
    assert await desk.world.revision() == before
    done = await desk.taken(made["id"], "approval", RAIL)
    assert (done["state"], await desk.world.revision()) == ("published", before + 1)
    version = await desk.world.get("/v1/rulebooks/2027.1")
    assert version["sha256"] == done["sha256"]
    assert version["limits"]["heavy_steel_thickness"]["value"] == "6.345 mm"
    listed = await desk.world.get("/v1/ledger/entries", after=before)
    assert [(e["kind"], e["version"]) for e in listed["entries"]] == [("rulebook", "2027.1")]


async def test_a_published_version_comes_into_force_and_is_superseded(desk: Desk) -> None:
    """Its draft tells where it stands: to come, in force by its day, superseded by a newer one."""
    name = (await desk.published())["id"]
    told = [(await desk.read(name))["published"]]
    assert (await desk.world.get("/v1/rulebooks/in-force"))["version"] == "2020.1"
    desk.world.later(days=300)
    told.append((await desk.read(name))["published"])
    assert (await desk.world.get("/v1/rulebooks/in-force"))["version"] == "2027.1"
    made = await desk.make(body={"from": "2027.1"}, version="2027.2", effective_from="2027-03-10",
                           summary="The third.")  # fmt: skip
    await desk.taken(made["id"], "submission", RAIL)
    await desk.taken(made["id"], "approval", TEAL)
    told.append((await desk.read(name))["published"])
    desk.world.later(days=30)
    told.append((await desk.read(name))["published"])
    assert told == ["to come", "in force", "in force", "superseded"]


async def test_every_step_is_recorded(desk: Desk) -> None:
    """Who, when, what and why of each step, in order; sent back, it can be edited and submitted again."""
    made = await desk.make()
    name = made["id"]
    desk.world.later(minutes=1)
    await desk.patch(name, LIMIT, made["etag"], TEAL, why="6 mm since June.")
    desk.world.later(minutes=1)
    await desk.taken(name, "submission", SEDGE)
    desk.world.later(minutes=1)
    back = await desk.taken(name, "refusal", RAIL)
    assert back["state"] == "draft"
    desk.world.later(minutes=1)
    await desk.taken(name, "submission", TEAL)
    desk.world.later(minutes=1)
    await desk.taken(name, "approval", RAIL)
    steps = (await desk.read(name))["steps"]
    assert [(step["number"], step["step"], step["by"], step["at"][11:16]) for step in steps] == [
        (1, "made", SEDGE, "09:12"),
        (2, "edited", TEAL, "09:13"),
        (3, "submitted", SEDGE, "09:14"),
        (4, "refused", RAIL, "09:15"),
        (5, "submitted", TEAL, "09:16"),
        (6, "approved", RAIL, "09:17"),
    ]
    assert [step["why"] for step in steps[:4]] == [
        "The circular has changed.",
        "6 mm since June.",
        "Time for submission.",
        "Time for refusal.",
    ]
    assert len({step["etag"] for step in steps}) == 6
    assert len({step["sha256"] for step in steps}) == 2


@pytest.mark.parametrize("step", ["approval", "refusal"])
@pytest.mark.parametrize("part", ["made", "edited", "submitted"])
async def test_who_has_a_hand_in_a_draft_does_not_judge_it(desk: Desk, step: str, part: str) -> None:
    """Whoever made, edited or submitted it is refused with 403; one who did none of it may."""
    made = await desk.make(TEAL if part == "made" else SEDGE)
    edited = await desk.patch(made["id"], LIMIT, made["etag"], TEAL if part == "edited" else SEDGE)
    assert edited.status_code == 200
    await desk.taken(made["id"], "submission", TEAL if part == "submitted" else SEDGE)
    problem = problem_of(await desk.step(made["id"], step, TEAL), "forbidden")
    assert "another maintainer" in problem.detail
    assert (await desk.step(made["id"], step, RAIL)).status_code == 201


async def test_who_wrote_the_draft_that_it_was_made_from_does_not_judge_it(desk: Desk) -> None:
    """A copy of a draft has in it what its authors wrote; what they did after the copy does not count."""
    first = await desk.make(TEAL)
    copy = await desk.make(SEDGE, {"draft": first["id"]})
    await desk.patch(first["id"], {"title": "Later"}, first["etag"], RAIL)
    await desk.taken(copy["id"], "submission", SEDGE)
    assert first["id"] in problem_of(await desk.step(copy["id"], "approval", TEAL), "forbidden").detail
    assert (await desk.step(copy["id"], "approval", RAIL)).status_code == 201


async def test_a_withdrawn_draft_stays_readable(desk: Desk) -> None:
    """Its document and steps are there, it is listed, and others can be made of it."""
    made = await desk.make()
    await desk.taken(made["id"], "withdrawal", RAIL)
    whole = await desk.read(made["id"])
    assert (whole["state"], whole["document"]["version"]) == ("withdrawn", "2027.1")
    listed = (await desk.send("GET", "", SEDGE, state="withdrawn")).json()["drafts"]
    assert [draft["id"] for draft in listed] == [made["id"]]
    copy = await desk.make(body={"draft": made["id"]})
    assert copy["made_from"] == {"version": None, "draft": made["id"], "step": 2}
    assert (copy["base"], copy["sha256"]) == ("2020.1", made["sha256"])


async def test_a_step_says_why(desk: Desk) -> None:
    """Without a reason no step is taken."""
    made = await desk.make()
    for why in ("", " ", "x\x07"):
        sent = await desk.send(
            "POST", f"/{made['id']}/withdrawal", SEDGE, json={"why": why}, etag=made["etag"]
        )
        assert only(problem_of(sent, "invalid-request")).pointer == "#/why"
    nothing = await desk.send("PATCH", f"/{made['id']}", SEDGE, json=LIMIT, etag=made["etag"],
                              media="application/merge-patch+json")  # fmt: skip
    assert only(problem_of(nothing, "invalid-request")).parameter == "why"
    assert (await desk.read(made["id"]))["step"] == 1


@pytest.mark.parametrize("who", [None, "wren"])
async def test_drafts_are_for_maintainers(desk: Desk, who: str | None) -> None:
    """Without a key every operation is 401, with a member's 403; also reading."""
    made = await desk.make()
    slug = "unauthorized" if who is None else "forbidden"
    key = await desk.world.key(who) if who else {}
    name = made["id"]
    asked = [("GET", ""), ("POST", ""), ("GET", f"/{name}"), ("PATCH", f"/{name}"), ("PUT", f"/{name}"),
             ("GET", f"/{name}/steps/1"), *(("POST", f"/{name}/{step}") for step in
             ("check", "submission", "approval", "refusal", "withdrawal"))]  # fmt: skip
    for method, path in asked:
        problem_of(await desk.send(method, path, None, headers=key), slug)


async def test_who_withdrew_it_is_told(desk: Desk) -> None:
    """Whoever comes with an earlier step after a withdrawal is told of it, in a sentence."""
    made = await desk.make()
    await desk.taken(made["id"], "withdrawal", RAIL)
    stale = problem_of(
        await desk.step(made["id"], "submission", SEDGE, made["etag"]), "precondition-failed", 412
    )
    assert stale.errors[0].detail.startswith("rail withdrew it at ")
