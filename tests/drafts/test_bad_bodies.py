"""What a draft cannot be made of or changed to: refused, pointed at, and nothing kept."""

from __future__ import annotations

import json
from typing import Any

import pytest

from gradewright.drafts.controller import MOST_BYTES
from tests.api import only, problem_of
from tests.drafts.desk import MERGE, SEDGE, Desk


@pytest.mark.parametrize(
    ("body", "at"),
    [
        ({}, "#"),
        ({"from": "2020.1", "draft": "d-1"}, "#"),
        ({"from": "2020"}, "#/from"),
        ({"draft": "d-99"}, "#/draft"),
        ({"draft": 1}, "#/draft"),
        ({"document": []}, "#/document"),
        ({"document": {}, "colour": 1}, "#/colour"),
        ([], "#"),
    ],
)
async def test_what_a_draft_cannot_be_made_of(desk: Desk, body: Any, at: str) -> None:
    """A body that names nothing, two things, or what is not there is pointed at; nothing is made."""
    sent = await desk.send("POST", "", SEDGE, json=body, why="x")
    slug = "not-found" if at == "#/draft" and body["draft"] == "d-99" else "invalid-request"
    assert only(problem_of(sent, slug, 422)).pointer == at
    assert (await desk.send("GET", "", SEDGE)).json()["drafts"] == []


async def test_a_version_that_is_not_there(desk: Desk) -> None:
    """A draft of an unknown version is told the nearest; so is an unknown base, as a parameter."""
    error = only(problem_of(await desk.send("POST", "", SEDGE, json={"from": "2020.2"}, why="x"),
                            "no-rulebook-in-force", 422))  # fmt: skip
    assert (error.pointer, error.suggestions) == ("#/from", ["2020.1"])
    made = await desk.make()
    error = only(problem_of(await desk.patch(made["id"], {}, made["etag"], base="2020.2"),
                            "no-rulebook-in-force", 422))  # fmt: skip
    assert (error.parameter, error.suggestions) == ("base", ["2020.1"])


@pytest.mark.parametrize(
    ("method", "media", "takes"),
    [
        ("PATCH", "application/json", "application/merge-patch+json"),
        ("PUT", "application/merge-patch+json", "application/json"),
        ("PUT", "text/plain", "application/yaml"),
        ("POST", "application/merge-patch+json", "text/yaml"),
    ],
)
async def test_other_media_types_are_refused(desk: Desk, method: str, media: str, takes: str) -> None:
    """415 names what is taken, also as Accept-Patch or Accept-Post (RFC 5789, RFC 9110)."""
    made = await desk.make()
    path = "" if method == "POST" else f"/{made['id']}"
    sent = await desk.send(method, path, SEDGE, text="{}", media=media, etag=made["etag"], why="x")
    problem_of(sent, "unsupported-media-type")
    assert takes in sent.headers["Accept-Patch" if method == "PATCH" else "Accept-Post"]


@pytest.mark.parametrize(
    ("text", "slug", "at"),
    [
        ("{", "malformed-request", None),
        ('{"a": 1, "a": 2}', "malformed-request", "#/a"),
        ('{"a": "\\u0000"}', "malformed-request", "#/a"),
        ("[" * 70 + "]" * 70, "malformed-request", None),
        ("[1]", "invalid-request", "#"),
        ('"text"', "invalid-request", "#"),
    ],
)
@pytest.mark.parametrize("method", ["PATCH", "PUT"])
async def test_bodies_that_cannot_be(desk: Desk, method: str, text: str, slug: str, at: str | None) -> None:
    """What is not JSON as this service takes it, or not an object, is refused and pointed at."""
    made = await desk.make()
    media = MERGE if method == "PATCH" else "application/json"
    sent = await desk.send(
        method, f"/{made['id']}", SEDGE, text=text, media=media, etag=made["etag"], why="x"
    )
    problem = problem_of(sent, slug)
    assert at is None or only(problem).pointer == at
    assert (await desk.read(made["id"]))["step"] == 1


@pytest.mark.parametrize(
    ("text", "slug", "at"),
    [
        (b"version: 2\nversion: 3\n", "unsound-rulebook", "#/lines/2/version"),
        (b"a: &x [1]\nb: *x\n", "unsound-rulebook", "#/lines/2"),
        (b"a: [\n", "unsound-rulebook", None),
        (b"title: caf\xe9\n", "malformed-request", None),
        (b'title: "\\0"\n', "malformed-request", "#/title"),
        (b"- a\n", "unsound-rulebook", "#/lines/1"),
    ],
)
async def test_yaml_that_cannot_be(desk: Desk, text: bytes, slug: str, at: str | None) -> None:
    """A file that cannot be taken is told by its lines; nothing is made of it."""
    sent = await desk.send("POST", "", SEDGE, text=text, media="text/yaml", why="x")
    problem = problem_of(sent, slug, 422 if slug == "unsound-rulebook" else 400)
    assert at is None or only(problem).pointer == at
    assert (await desk.send("GET", "", SEDGE)).json()["drafts"] == []


async def test_a_document_is_of_bounded_size(desk: Desk) -> None:
    """A body beyond the most that is taken is 413."""
    made = await desk.make()
    text = json.dumps({"title": "x" * MOST_BYTES})
    sent = await desk.send("PUT", f"/{made['id']}", SEDGE, text=text, media="application/json",
                           etag=made["etag"], why="x")  # fmt: skip
    problem_of(sent, "payload-too-large")
