"""Editing drafts: conditions, media types, records, and what is refused with which problem."""

from __future__ import annotations

import uuid
from typing import Any

import pytest

from gradewright.rulebooks.document import from_yaml
from tests.api import only, problem_of, small_rulebook, where
from tests.drafts.desk import DRAFTS, LIMIT, MERGE, NEXT, RAIL, SEDGE, TEAL, Desk


async def test_a_write_needs_if_match(desk: Desk) -> None:
    """Without If-Match, or with `*`, an edit or a step is 428, whatever else it lacks: nothing can be written
    over unseen."""
    made = await desk.make()
    name = made["id"]
    for tag in ({}, {"If-Match": "*"}):
        answers = [
            await desk.send("PATCH", f"/{name}", SEDGE, json=LIMIT, media=MERGE, headers=tag, why="x"),
            await desk.send("PATCH", f"/{name}", SEDGE, json=LIMIT, media=MERGE, headers=tag),
            await desk.send("PUT", f"/{name}", SEDGE, json={}, headers=tag, why="x"),
            *[
                await desk.send("POST", f"/{name}/{step}", RAIL, json=body, headers=tag)
                for step in ("submission", "approval", "refusal", "withdrawal")
                for body in ({"why": "x"}, {})
            ],
        ]
        for answer in answers:
            assert only(problem_of(answer, "precondition-required", 428)).header == "If-Match"
    assert (await desk.read(name))["step"] == 1


async def test_a_stale_edit_is_told_who_changed_what(desk: Desk) -> None:
    """412 has the ETag of now, and every step since the one that was read: who, when, why."""
    made = await desk.make()
    name = made["id"]
    first = await desk.patch(name, LIMIT, made["etag"], RAIL, why="6.345 mm since June.")
    second = await desk.patch(name, {"title": "A title"}, first.headers["etag"], TEAL, why="A better title.")
    stale = await desk.patch(name, {"title": "Mine"}, made["etag"])
    problem = problem_of(stale, "precondition-failed", 412)
    assert stale.headers["etag"] == second.headers["etag"] == (await desk.read(name))["etag"]
    assert where(problem) == ["If-Match", "If-Match"]
    assert [error.detail for error in problem.errors] == [
        "rail edited it at 2026-05-04T09:12:00Z (step 2): 6.345 mm since June.",
        "teal edited it at 2026-05-04T09:12:00Z (step 3): A better title.",
    ]
    assert "2 step(s) were taken since" in problem.detail
    assert (await desk.read(name))["document"]["title"] == "A title"


@pytest.mark.parametrize("tag", ['W/"{}"', '"9-000000000000"', '"nonsense"', 'W/"nonsense", "x"'])
async def test_a_tag_that_does_not_match_is_412(desk: Desk, tag: str) -> None:
    """A weak tag, one of no step, one of another form: the draft does not stand there."""
    made = await desk.make()
    sent = tag.format(made["etag"].strip('"'))
    problem_of(await desk.patch(made["id"], LIMIT, sent), "precondition-failed", 412)


async def test_a_weak_tag_is_told_as_such(desk: Desk) -> None:
    """Where nothing but weak tags were sent, that is why they do not match, and what to send is told."""
    made = await desk.make()
    answer = await desk.patch(made["id"], LIMIT, f"W/{made['etag']}")
    detail = problem_of(answer, "precondition-failed", 412).detail
    tag = made["etag"].strip('"')
    assert detail.startswith(
        f"d-1 stands at {tag}, and no tag was sent that can match, as weak ones never do: "
    )
    assert "not at :" not in detail


@pytest.mark.parametrize("tag", ["1-abc", '"1', "'1'", '"a" b'])
async def test_a_field_that_cannot_be_read_is_told(desk: Desk, tag: str) -> None:
    """If-Match without quotes is 422 that says how it is written."""
    made = await desk.make()
    assert only(problem_of(await desk.patch(made["id"], LIMIT, tag), "invalid-request")).header == "If-Match"


async def test_one_of_several_tags_is_enough(desk: Desk) -> None:
    """If-Match may name several; the ETag of the YAML form names the same step."""
    made = await desk.make()
    text = await desk.send("GET", f"/{made['id']}", SEDGE, format="yaml")
    assert text.headers["etag"] != made["etag"]
    sent = f'"x", {text.headers["etag"]}'
    assert (await desk.patch(made["id"], LIMIT, sent)).status_code == 200


async def test_reading_is_conditional_too(desk: Desk) -> None:
    """If-None-Match with the ETag is 304; each form has its own, and a step changes both."""
    made = await desk.make()
    path = f"/{made['id']}"
    tags = {}
    for form in ("json", "yaml"):
        tags[form] = (await desk.send("GET", path, SEDGE, format=form)).headers["etag"]
        again = await desk.send("GET", path, SEDGE, format=form, headers={"If-None-Match": tags[form]})
        assert (again.status_code, again.content, again.headers["etag"]) == (304, b"", tags[form])
        other = await desk.send("GET", path, SEDGE, format=form, headers={"If-None-Match": '"x"'})
        assert other.status_code == 200
    assert tags["json"] != tags["yaml"]
    await desk.patch(made["id"], LIMIT, made["etag"])
    changed = await desk.send("GET", path, SEDGE, headers={"If-None-Match": tags["json"]})
    assert changed.status_code == 200


async def test_a_file_is_read_edited_and_put_back(desk: Desk) -> None:
    """The YAML of a draft is its document; changed and sent back it is one step that changed one place."""
    made = await desk.make()
    path = f"/{made['id']}"
    got = await desk.send("GET", path, SEDGE, headers={"Accept": "application/yaml"})
    assert got.headers["content-type"] == "application/yaml; charset=utf-8"
    assert from_yaml(got.text) == (await desk.read(made["id"]))["document"]
    assert got.text.startswith(f"# {made['id']}, step {made['etag'].strip(chr(34))}:")
    text = got.text.replace("6.35 mm, means", "6.345 mm, means")
    for media in ("application/yaml", "text/yaml; charset=utf-8"):
        put = await desk.send("PUT", path, RAIL, text=text, media=media, etag=made["etag"], why="6.345")
        assert put.status_code == 200, put.text
        assert [change["pointer"] for change in put.json()["taken"]["changes"]] == [
            "#/limits/heavy_steel_thickness/value"
        ]
        text = text.replace("6.345 mm", "6.346 mm")
        made = put.json()


async def test_an_edit_that_changes_nothing_is_no_step(desk: Desk) -> None:
    """The same document again leaves the ETag as it is; a new base alone is a step."""
    made = await desk.make()
    document = (await desk.read(made["id"]))["document"]
    same = await desk.put(made["id"], document, made["etag"])
    assert (same.status_code, same.headers["etag"], same.json()["step"]) == (200, made["etag"], 1)
    assert same.json()["taken"] is None
    await desk.world.publish(small_rulebook(version="2026.9", effective_from="2026-09-01"))
    based = await desk.put(made["id"], document, made["etag"], base="2026.9")
    assert (based.json()["step"], based.json()["base"], based.json()["taken"]["changed"]) == (2, "2026.9", 0)
    assert (await desk.read(made["id"]))["document"] == document


async def test_an_order_alone_is_an_edit(desk: Desk) -> None:
    """Rules and attributes in another order are another document."""
    made = await desk.make()
    document = (await desk.read(made["id"]))["document"]
    document["attributes"] = dict(reversed(document["attributes"].items()))
    put = (await desk.put(made["id"], document, made["etag"])).json()
    assert [change["change"] for change in put["taken"]["changes"]] == ["reordered"]
    assert list((await desk.read(made["id"]))["document"]["attributes"]) == list(document["attributes"])


async def test_a_draft_may_be_unsound_while_it_is_written(desk: Desk) -> None:
    """Any object is kept; the check tells every fault with its place, and submission names all of them."""
    made = await desk.make(body={"document": {"version": "2027.1", "rules": [{"id": 7}], "colour": "red"}})
    found = await desk.check(made["id"])
    assert not found["sound"]
    pointers = {fault["pointer"] for fault in found["faults"]}
    assert {"#/colour", "#/rules/0/id"} <= pointers
    problem = problem_of(await desk.step(made["id"], "submission", SEDGE), "unsound-rulebook", 422)
    assert {error.pointer for error in problem.errors} == pointers
    assert len(problem.errors) == len(found["faults"])
    assert (await desk.read(made["id"]))["state"] == "draft"


async def test_examples_that_do_not_come_true_are_told(desk: Desk) -> None:
    """A rule that is taken out is told by the examples that needed it, in the words of the rulebook."""
    made = await desk.make()
    rules = [r for r in (await desk.read(made["id"]))["document"]["rules"] if r["id"] != "thin-steel"]
    await desk.patch(made["id"], {"rules": rules}, made["etag"])
    found = await desk.check(made["id"])
    told = {(fault["pointer"], fault["place"]) for fault in found["faults"]}
    assert ("#/examples/1", "example 2") in told
    assert ("#/grades/light-iron", "grade light-iron") in told


async def test_every_document_that_ever_was_can_be_read(desk: Desk) -> None:
    """As it was after each step, with the steps up to it; each step tells what it changed."""
    made = await desk.make()
    name = made["id"]
    first = (await desk.patch(name, LIMIT, made["etag"])).json()
    await desk.patch(name, {"title": "A title", "cautions": {"dust": None}}, first["etag"])
    before = await desk.read(name, step=2)
    assert (before["step"], before["document"]["title"]) == (2, "A small rulebook")
    assert "dust" in before["document"]["cautions"]
    told = []
    for number in (1, 2, 3):
        step = (await desk.send("GET", f"/{name}/steps/{number}", SEDGE)).json()
        told.append([change["pointer"] for change in step["changes"]])
        assert step["changed"] == len(step["changes"])
    assert told == [
        ["#/version", "#/effective_from", "#/summary"],
        ["#/limits/heavy_steel_thickness/value"],
        ["#/title", "#/cautions/dust"],
    ]
    for path in (f"/{name}/steps/4", f"/{name}/steps/0", f"/{name}/steps/x", "/d-99", "/d-0", "/x"):
        problem_of(await desk.send("GET", path, SEDGE), "not-found", 404)


async def test_a_repeated_write_is_done_once(desk: Desk) -> None:
    """Under its Idempotency-Key every write is answered as the first time, though the draft has gone on."""
    key = {"Idempotency-Key": str(uuid.uuid4())}
    asked = {"why": "x", **NEXT}
    made = [await desk.send("POST", "", SEDGE, json={"from": "2020.1"}, headers=key, **asked) for _ in "12"]
    assert made[0].content == made[1].content
    assert made[1].headers["Idempotency-Replayed"] == "true"
    name, etag = made[0].json()["id"], made[0].headers["etag"]
    for method, step, who in (
        ("PATCH", "", SEDGE),
        ("POST", "/submission", SEDGE),
        ("POST", "/approval", RAIL),
    ):
        media = MERGE if method == "PATCH" else None
        more: dict[str, Any] = {"why": "x"} if method == "PATCH" else {}
        body = LIMIT if method == "PATCH" else {"why": "x"}
        key = {"Idempotency-Key": str(uuid.uuid4())}
        both = [
            await desk.send(method, f"/{name}{step}", who, json=body, media=media, etag=etag, headers=key,
                            **more)
            for _ in "12"
        ]  # fmt: skip
        assert both[0].status_code in {200, 201}, both[0].text
        assert both[0].content == both[1].content
        assert both[1].headers["etag"] == both[0].headers["etag"]
        etag = both[0].headers["etag"]
    assert [step["step"] for step in (await desk.read(name))["steps"]] == [
        "made", "edited", "submitted", "approved",
    ]  # fmt: skip


async def test_drafts_are_listed_page_by_page(desk: Desk) -> None:
    """Newest first, each once over all pages, by state where one is named; Link leads to the next."""
    names = [(await desk.make())["id"] for _ in range(5)]
    await desk.taken(names[1], "withdrawal", SEDGE)
    seen: list[str] = []
    query: dict[str, Any] = {"limit": 2}
    while True:
        page = await desk.send("GET", "", SEDGE, **query)
        seen += [draft["id"] for draft in page.json()["drafts"]]
        if page.json()["next"] is None:
            break
        assert f"{DRAFTS}?limit=2&cursor={page.json()['next']}" in page.headers["link"]
        query["cursor"] = page.json()["next"]
    assert seen == names[::-1]
    drafts = (await desk.send("GET", "", SEDGE, state="draft")).json()["drafts"]
    assert [draft["id"] for draft in drafts] == [names[n] for n in (4, 3, 2, 0)]
    wrong = await desk.send("GET", "", SEDGE, state="lost")
    assert only(problem_of(wrong, "invalid-request")).parameter == "state"


async def test_every_write_tells_what_was_done_since(desk: Desk) -> None:
    """A stale step or document is told the same as a stale patch, and keeps nothing."""
    made = await desk.make()
    name = made["id"]
    await desk.patch(name, LIMIT, made["etag"], RAIL, why="6.345 mm since June.")
    answers = [await desk.put(name, {}, made["etag"])]
    answers += [await desk.step(name, step, TEAL, made["etag"]) for step in ("submission", "withdrawal")]
    await desk.taken(name, "submission", SEDGE)
    answers += [await desk.step(name, step, TEAL, made["etag"]) for step in ("approval", "refusal")]
    for answer in answers:
        told = problem_of(answer, "precondition-failed", 412).errors
        assert told[0].detail == "rail edited it at 2026-05-04T09:12:00Z (step 2): 6.345 mm since June."
    assert (await desk.read(name))["step"] == 3
