"""Bodies, headers and queries that two readers would take differently, at the three operations that matter.

Each kind is sent to postings, valuations and gradings in turn, with a member's key, on both databases:
each is refused in the one shape, and nothing is stored.
"""

from __future__ import annotations

import json
from collections.abc import AsyncIterator, Callable
from typing import Any

import httpx
import pytest
from tests.api import World, posting, price, problem_of, where

from gradewright.web.problems import Problem

JSON = {"Content-Type": "application/json"}
GOOD: dict[str, dict[str, Any]] = {
    "/v1/postings": posting(price("copper-no2", "3.35"), note="a note"),
    "/v1/valuations": {
        "region": "XO-KEL",
        "known_at": 5,
        "keep": True,
        "parts": [{"name": "bar", "count": 2, "weight": "1 kg", "observed": {"metal": "steel"}}],
    },
    "/v1/gradings": {"observed": {"metal": "steel", "thickness": "6.35 mm"}, "region": "XO-KEL"},
}
Spoil = Callable[[str, dict[str, Any]], str | bytes]


async def send(world: World, path: str, content: Any, **headers: str) -> httpx.Response:
    """Sends a body as it is, with a member's key."""
    sent = {**JSON, **await world.key("wren"), **{k.replace("_", "-"): v for k, v in headers.items()}}
    return await world.client.post(path, content=content, headers=sent)


def text_in(path: str) -> tuple[str, str]:
    """A text in the good body of an operation as JSON writes it, and the pointer to it."""
    return {
        "/v1/postings": ('"a note"', "#/note"),
        "/v1/valuations": ('"bar"', "#/parts/0/name"),
        "/v1/gradings": ('"6.35 mm"', "#/observed/thickness"),
    }[path]


def with_text(path: str, text: str | bytes) -> bytes:
    """The good body with another spelling of its text."""
    found, _ = text_in(path)
    sent = json.dumps(GOOD[path]).encode()
    assert sent.count(found.encode()) == 1
    return sent.replace(found.encode(), text.encode() if isinstance(text, str) else text)


@pytest.mark.parametrize("path", GOOD)
async def test_the_good_bodies_are_taken(world: World, path: str) -> None:
    """What the other tests spoil is taken when it is not spoilt."""
    response = await send(world, path, json.dumps(GOOD[path]))
    assert response.status_code in {200, 201}


MALFORMED: list[Any] = [
    pytest.param(lambda path: with_text(path, b'"a\xffb"'), None, "not UTF-8", id="invalid UTF-8"),
    pytest.param(lambda path: with_text(path, b'"\xed\xa0\x80"'), None, "not UTF-8", id="a coded surrogate"),
    pytest.param(lambda path: with_text(path, b'"\xc0\x80"'), None, "not UTF-8", id="an overlong NUL"),
    pytest.param(lambda path: json.dumps(GOOD[path]).encode("utf-16"), None, "not UTF-8", id="UTF-16"),
    pytest.param(
        lambda path: b"\xef\xbb\xbf" + with_text(path, '"x"'), None, "not JSON", id="a byte order mark"
    ),
    pytest.param(lambda path: "[" * 20_000 + "]" * 20_000, None, "deeper", id="20,000 arrays deep"),
    pytest.param(
        lambda path: '{"a":' * 20_000 + "1" + "}" * 20_000, None, "deeper", id="20,000 objects deep"
    ),
    pytest.param(lambda path: '{"parts":' + "[" * 500_000, None, "deeper", id="half a million never closed"),
    pytest.param(lambda path: with_text(path, r'"a\u0000b"'), "here", "NUL", id="NUL in text"),
    pytest.param(lambda path: with_text(path, b'"a\x00b"'), None, "not JSON", id="a raw NUL"),
    pytest.param(lambda path: with_text(path, r'"\ud800"'), "here", "surrogate", id="half a surrogate pair"),
    pytest.param(lambda path: with_text(path, '"a\nb"'), None, "not JSON", id="a raw newline in text"),
    pytest.param(lambda path: with_text(path, "9223372036854775808"), "here", "64 bits", id="2^63"),
    pytest.param(lambda path: with_text(path, "-9223372036854775809"), "here", "64 bits", id="below -2^63"),
    pytest.param(lambda path: with_text(path, "9" * 10_000), "here", "64 bits", id="10,000 digits"),
    pytest.param(lambda path: with_text(path, "1e400"), "here", "too large", id="1e400"),
    pytest.param(lambda path: with_text(path, "NaN"), "here", "not a number", id="NaN"),
    pytest.param(lambda path: with_text(path, "Infinity"), "here", "not a number", id="Infinity"),
    pytest.param(lambda path: with_text(path, '"x",'), None, "not JSON", id="a comma too many"),
    pytest.param(lambda path: with_text(path, "'x'"), None, "not JSON", id="single quotes"),
    pytest.param(lambda path: with_text(path, "/* x */ 1"), None, "not JSON", id="a comment"),
    pytest.param(lambda path: json.dumps(GOOD[path])[:-1], None, "not JSON", id="cut off"),
    pytest.param(lambda path: json.dumps(GOOD[path]) * 2, None, "not JSON", id="twice in one body"),
    pytest.param(lambda path: "", "#", "empty", id="an empty body"),
    pytest.param(lambda path: " \n ", "#", "empty", id="a blank body"),
]


@pytest.mark.parametrize(("spoil", "pointer", "says"), MALFORMED)
async def test_a_body_that_is_malformed(
    untouched: World, spoil: Callable[[str], str | bytes], pointer: str | None, says: str
) -> None:
    """400, with a pointer to the flaw where it has a place in the document."""
    for path in GOOD:
        problem = problem_of(await send(untouched, path, spoil(path)), "malformed-request")
        assert says in problem.detail
        place = text_in(path)[1] if pointer == "here" else pointer
        assert where(problem) == ([place] if place else [])


@pytest.mark.parametrize("nested", [False, True])
async def test_a_name_twice_in_one_object(untouched: World, nested: bool) -> None:
    """A name given twice is refused at that name, also with equal values and deep inside."""
    for path, body in GOOD.items():
        text = json.dumps(body)
        if nested:
            inner = {"/v1/postings": '"grade": "copper-no2"', "/v1/valuations": '"metal": "steel"'}
            again = inner.get(path, '"metal": "steel"')
            place = {"/v1/postings": "#/prices/0/grade", "/v1/valuations": "#/parts/0/observed/metal"}
            sent, at = text.replace(again, f"{again}, {again}"), place.get(path, "#/observed/metal")
        else:
            first = next(iter(body))
            sent = f"{text[:-1]}, {json.dumps(first)}: {json.dumps(body[first])}}}"
            at = f"#/{first}"
        problem = problem_of(await send(untouched, path, sent), "malformed-request")
        assert where(problem) == [at]
        assert "twice" in problem.detail


@pytest.mark.parametrize("body", ["[]", "null", "7", '"text"', "true", "[{}]"])
async def test_json_that_is_no_object(untouched: World, body: str) -> None:
    """JSON of another kind is read, and refused for what it is."""
    for path in GOOD:
        problem = problem_of(await send(untouched, path, body), "invalid-request")
        assert where(problem) == ["#"]


@pytest.mark.parametrize("number", ["1.00000000000000000001", "3.35", "1e2", "-0.0", "0", "12"])
async def test_a_number_where_a_decimal_belongs(untouched: World, number: str) -> None:
    """A JSON number is refused wherever a decimal or a measure is written as text: no digit can get lost."""
    fields = {
        "/v1/postings": ('"3.35"', "#/prices/0/price"),
        "/v1/valuations": ('"1 kg"', "#/parts/0/weight"),
        "/v1/gradings": ('"6.35 mm"', "#/observed/thickness"),
    }
    for path, (found, pointer) in fields.items():
        sent = json.dumps(GOOD[path]).replace(found, number)
        problem = problem_of(await send(untouched, path, sent), "invalid-request")
        assert where(problem) == [pointer]


async def test_a_stray_field_is_refused(untouched: World) -> None:
    """A field that nobody asked for is refused at every level, its name escaped in the pointer."""
    for path, body in GOOD.items():
        problem = problem_of(await send(untouched, path, json.dumps({**body, "a/b~": 1})), "invalid-request")
        assert where(problem) == ["#/a~1b~0"]


async def test_a_stray_parameter_is_refused(untouched: World) -> None:
    """A query that nobody asked for is refused by name, before anything is stored."""
    for path, body in GOOD.items():
        problem = problem_of(await send(untouched, f"{path}?dry_run=1", json.dumps(body)), "invalid-request")
        assert where(problem) == ["dry_run"]


KINDS = ["text/plain", "application/xml", "text/json", "application/x-www-form-urlencoded", "", None]


@pytest.mark.parametrize("kind", KINDS)
async def test_another_kind_of_body_is_refused(untouched: World, kind: str | None) -> None:
    """Only application/json is taken, whatever the body looks like; the answer says which."""
    for path, body in GOOD.items():
        headers = {**await untouched.key("wren"), **({"Content-Type": kind} if kind is not None else {})}
        response = await untouched.client.post(path, content=json.dumps(body).encode(), headers=headers)
        problem = problem_of(response, "unsupported-media-type")
        assert where(problem) == ["Content-Type"]
        assert response.headers["accept-post"] == "application/json"


async def test_xml_is_refused(untouched: World) -> None:
    """XML under its own name is refused as a kind, and under JSON's name as no JSON."""
    xml = b'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b SYSTEM "file:///etc/passwd">]><a>&b;</a>'
    for path in GOOD:
        problem_of(await send(untouched, path, xml, Content_Type="text/xml"), "unsupported-media-type")
        problem_of(await send(untouched, path, xml), "malformed-request")


async def in_pieces() -> AsyncIterator[bytes]:
    """Ten megabytes that do not say how many they are."""
    for _ in range(100):
        yield b" " * 100_000


@pytest.mark.parametrize("content", [lambda: b" " * 10_000_000, in_pieces], ids=["told", "in pieces"])
async def test_ten_megabytes_are_too_large(untouched: World, content: Callable[[], Any]) -> None:
    """A body above the limit is refused for its size, whether or not it tells its length."""
    for path in GOOD:
        problem_of(await send(untouched, path, content()), "payload-too-large")


@pytest.mark.parametrize("accept", ["text/html", "application/xml", "image/*", "application/json;q=0"])
async def test_an_answer_of_another_kind_cannot_be_given(untouched: World, accept: str) -> None:
    """A caller who takes no JSON is told so, and nothing is stored."""
    for path, body in GOOD.items():
        response = await send(untouched, path, json.dumps(body), Accept=accept)
        assert where(problem_of(response, "not-acceptable")) == ["Accept"]


@pytest.mark.parametrize("key", ["", " ", "a b", "x" * 256, "schlüssel"])
async def test_an_idempotency_key_that_cannot_be(untouched: World, key: str) -> None:
    """A key is 1 to 255 visible ASCII characters, wherever it is taken."""
    for path in ("/v1/postings", "/v1/valuations"):
        for body in (GOOD[path], {**GOOD[path], "keep": False}):
            if path == "/v1/postings" and "keep" in body:
                continue
            headers = {**JSON, **await untouched.key("wren"), "Idempotency-Key": key.encode()}
            response = await untouched.client.post(path, content=json.dumps(body), headers=headers)  # type: ignore[arg-type]
            assert where(problem_of(response, "invalid-request")) == ["Idempotency-Key"]


async def test_the_answer_says_what_to_do(untouched: World) -> None:
    """A problem has every member that the one shape has, and no others."""
    response = await send(untouched, "/v1/postings", "{}")
    assert set(response.json()) == set(Problem.model_fields)
    assert response.json()["errors"][0].keys() == {"detail", "pointer"}
