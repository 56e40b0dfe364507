"""Bad input of every kind that is known to slip through: each is refused, pointed at, in the one shape."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import httpx
import pytest

from gradewright.web.problems import KINDS, Problem

REGION = {"code": "XO", "name": "Orvale", "parent": None, "currency": "USD", "unit": "lb"}
YARD = {"slug": "low-quay", "name": "Low Quay", "region": "XO", "currency": "USD", "unit": "lb"}
JSON = {"Content-Type": "application/json"}
Headers = dict[str, str]


@pytest.fixture
def database_url(make_url: Callable[[str], str]) -> str:
    """What is held here happens before a database is asked: one kind is enough."""
    return make_url("sqlite")


def problem_of(response: httpx.Response, slug: str) -> Problem:
    """The problem in an answer, held against the one shape, its status and its headers."""
    assert response.headers["content-type"] == "application/problem+json"
    problem = Problem.model_validate_json(response.content, strict=True)
    assert problem.type == f"/problems/{slug}"
    assert problem.status == response.status_code
    assert problem.request_id == response.headers["x-request-id"]
    assert problem.instance == response.request.url.path
    assert problem.title
    assert problem.detail
    if not slug.startswith("unknown-"):
        assert response.status_code == KINDS[slug].status
    return problem


async def post(client: httpx.AsyncClient, body: bytes | str, headers: Headers) -> httpx.Response:
    """Posts raw bytes as a region."""
    content = body.encode() if isinstance(body, str) else body
    return await client.post("/v1/regions", content=content, headers={**JSON, **headers})


def region(**changes: Any) -> dict[str, Any]:
    """A region that would be accepted, but for the changes."""
    return {**REGION, **changes}


async def test_the_unchanged_region_is_accepted(client: httpx.AsyncClient, maintainer: Headers) -> None:
    """What the other tests spoil is accepted when it is not spoilt."""
    response = await client.post("/v1/regions", json=REGION, headers=maintainer)
    assert response.status_code == 201


@pytest.mark.parametrize(
    ("body", "pointer", "says"),
    [
        pytest.param(b'{"code": "\xff\xfe"}', None, "not UTF-8: byte 10", id="invalid UTF-8"),
        pytest.param(b'\xef\xbb\xbf{"code": "XO"}', None, "not JSON", id="byte order mark"),
        pytest.param('{"code": "XO",}', None, "line 1, column 15", id="trailing comma"),
        pytest.param("{'code': 'XO'}", None, "not JSON", id="single quotes"),
        pytest.param('{"code": "a\nb"}', None, "not JSON", id="raw control character"),
        pytest.param("", "#", "empty", id="nothing"),
        pytest.param("   ", "#", "empty", id="spaces"),
        pytest.param('{"a": 1} {"b": 2}', None, "not JSON", id="two documents"),
        pytest.param("[" * 20_000 + "]" * 20_000, None, "deeper than 64", id="20,000 arrays deep"),
        pytest.param('{"a":' * 20_000 + "1" + "}" * 20_000, None, "deeper than 64", id="20,000 objects deep"),
        pytest.param("[" * 65 + "]" * 65, None, "deeper than 64", id="one too deep"),
        pytest.param("[" * 100_000, None, "deeper than 64", id="never closed"),
        pytest.param('{"code": "XO", "code": "XO"}', "#/code", "twice", id="duplicate key"),
        pytest.param('{"a": [{"b/c": 1, "b/c": 1}]}', "#/a/0/b~1c", "twice", id="duplicate key inside"),
        pytest.param('{"a": NaN}', "#/a", "NaN is not a number", id="NaN"),
        pytest.param('{"a": [1, -Infinity]}', "#/a/1", "not a number", id="-Infinity"),
        pytest.param('{"a": 1e999}', "#/a", "too large", id="a number that overflows"),
        pytest.param('{"a": 9223372036854775808}', "#/a", "64 bits", id="2^63"),
        pytest.param('{"a": -9223372036854775809}', "#/a", "64 bits", id="-2^63-1"),
        pytest.param('{"a": ' + "9" * 5000 + "}", "#/a", "64 bits", id="5,000 digits"),
        pytest.param('{"name": "a\\u0000b"}', "#/name", "NUL", id="NUL in a value"),
        pytest.param('{"na\\u0000me": 1}', "#", "NUL", id="NUL in a name"),
        pytest.param('{"name": "\\ud800"}', "#/name", "surrogate", id="half a surrogate pair"),
    ],
)
async def test_what_is_not_json_as_two_readers_would_read_it(
    client: httpx.AsyncClient, maintainer: Headers, body: bytes | str, pointer: str | None, says: str
) -> None:
    """A body that is not plain, unambiguous JSON is malformed; the fault is pointed at where it can be."""
    response = await post(client, body, maintainer)
    problem = problem_of(response, "malformed-request")
    assert says in problem.detail
    assert [error.pointer for error in problem.errors] == ([pointer] if pointer else [])


@pytest.mark.parametrize(
    "body", ["[" * 64 + "]" * 64, '{"a": "' + "[" * 100 + '"}', "[1, 2]", '"x"', "null", "7"]
)
async def test_json_that_is_not_the_object_asked_for(
    client: httpx.AsyncClient, maintainer: Headers, body: str
) -> None:
    """JSON of another kind is read, and refused as not what was asked for; brackets in text do not nest."""
    problem = problem_of(await post(client, body, maintainer), "invalid-request")
    assert problem.errors


async def test_an_escaped_backslash_before_u0000_is_not_a_nul(
    client: httpx.AsyncClient, maintainer: Headers
) -> None:
    r"""The six characters \u0000, written with an escaped backslash, are text like any other."""
    response = await post(client, json.dumps(region(name="a\\u0000b")), maintainer)
    assert response.status_code == 201
    assert response.json()["name"] == "a\\u0000b"


@pytest.mark.parametrize(
    ("field", "value"),
    [
        pytest.param("code", True, id="true as text"),
        pytest.param("code", 7, id="a number as text"),
        pytest.param("code", "xo", id="lower case"),
        pytest.param("code", "XO\n", id="a newline at the end"),
        pytest.param("code", "ХО", id="Cyrillic letters"),
        pytest.param("code", "XO-", id="a hyphen at the end"),
        pytest.param("code", "X" * 10_000, id="10,000 letters"),
        pytest.param("code", None, id="null"),
        pytest.param("name", " Orvale", id="a space before"),
        pytest.param("name", "", id="an empty name"),
        pytest.param("name", "a\tb", id="a tab"),
        pytest.param("name", "x" * 101, id="a name too long"),
        pytest.param("name", ["Orvale"], id="a list as text"),
        pytest.param("parent", "X", id="a parent of one letter"),
        pytest.param("currency", "usd", id="a currency in lower case"),
        pytest.param("currency", "XAU", id="gold as a currency"),
        pytest.param("currency", "ABC", id="no currency at all"),
        pytest.param("unit", "ton", id="which ton"),
        pytest.param("unit", "stone", id="no unit of the trade"),
        pytest.param("unit", 1, id="a number as a unit"),
    ],
)
async def test_a_bad_field_is_pointed_at(
    client: httpx.AsyncClient, maintainer: Headers, field: str, value: object
) -> None:
    """A field of another type or form is refused, and the pointer names it."""
    response = await client.post("/v1/regions", json=region(**{field: value}), headers=maintainer)
    problem = problem_of(response, "invalid-request")
    assert [error.pointer for error in problem.errors] == [f"#/{field}"]


@pytest.mark.parametrize("field", ["code", "name", "currency", "unit"])
async def test_a_missing_field_is_pointed_at(
    client: httpx.AsyncClient, maintainer: Headers, field: str
) -> None:
    """A field that is needed and missing is named."""
    body = {name: value for name, value in REGION.items() if name != field}
    problem = problem_of(await client.post("/v1/regions", json=body, headers=maintainer), "invalid-request")
    assert [(error.pointer, error.detail) for error in problem.errors] == [
        (f"#/{field}", "this field is needed; give it")
    ]


async def test_an_unknown_field_is_pointed_at(client: httpx.AsyncClient, maintainer: Headers) -> None:
    """A field that nobody asked for is refused, its name escaped in the pointer."""
    response = await client.post("/v1/regions", json=region(**{"a/b c~": 1}), headers=maintainer)
    problem = problem_of(response, "invalid-request")
    assert [error.pointer for error in problem.errors] == ["#/a~1b%20c~0"]


async def test_all_faults_are_told_at_once(client: httpx.AsyncClient, maintainer: Headers) -> None:
    """Three bad fields are three faults, each with its pointer; nothing is stored."""
    body = region(name="", unit="ton", extra=1)
    problem = problem_of(await client.post("/v1/regions", json=body, headers=maintainer), "invalid-request")
    assert {error.pointer for error in problem.errors} == {"#/name", "#/unit", "#/extra"}
    assert (await client.get("/v1/regions")).json() == {"regions": []}


@pytest.mark.parametrize(
    ("field", "value"),
    [
        pytest.param("cash_increment", 0.05, id="a float"),
        pytest.param("cash_increment", 5, id="an integer"),
        pytest.param("cash_increment", "0.05e1", id="an exponent"),
        pytest.param("cash_increment", "1_000", id="an underscore"),
        pytest.param("cash_increment", "0,05", id="a decimal comma"),
        pytest.param("cash_increment", "٠.٠٥", id="Arabic digits"),
        pytest.param("cash_increment", "０.０５", id="full-width digits"),
        pytest.param("cash_increment", "+0.05", id="a plus sign"),
        pytest.param("cash_increment", "-0.05", id="below zero"),
        pytest.param("cash_increment", "0.00", id="zero"),
        pytest.param("cash_increment", " 0.05", id="a space"),
        pytest.param("cash_increment", "NaN", id="not a number"),
        pytest.param("cash_increment", "Infinity", id="infinite"),
        pytest.param("cash_increment", "9" * 400, id="400 digits"),
        pytest.param("cash_increment", True, id="true"),
        pytest.param("rounding", "HALF-EVEN", id="a rule in capitals"),
        pytest.param("rounding", "up", id="no such rule"),
        pytest.param("labels", {}, id="an object for a list"),
        pytest.param("slug", "Low-Quay", id="capitals in a slug"),
        pytest.param("slug", "low--quay", id="two hyphens"),
        pytest.param("slug", "lów-quay", id="an accent in a slug"),
    ],
)
async def test_a_bad_term_of_a_yard_is_pointed_at(
    client: httpx.AsyncClient, maintainer: Headers, field: str, value: object
) -> None:
    """Decimals are plain strings of ASCII digits; whatever else is refused at the field."""
    await client.post("/v1/regions", json=REGION, headers=maintainer)
    response = await client.post("/v1/yards", json={**YARD, field: value}, headers=maintainer)
    problem = problem_of(response, "invalid-request")
    assert [error.pointer for error in problem.errors] == [f"#/{field}"]


async def test_what_to_write_instead_of_a_wrong_shape_is_told(
    client: httpx.AsyncClient, maintainer: Headers
) -> None:
    """Where a list is asked for and something else is sent, the fault shows how a list is written."""
    said = {"reason": "The sign.", "limits": {"limit": "heavy_steel_thickness", "value": "1/8 in"}}
    response = await client.post("/v1/yards/low-quay/house-rules", json=said, headers=maintainer)
    [error] = problem_of(response, "invalid-request").errors
    assert (error.pointer, error.detail) == ("#/limits", "write a list: [ … ]")


@pytest.mark.parametrize(
    "day",
    [
        pytest.param("2026-02-30", id="no such day"),
        pytest.param("2026-2-3", id="without zeros"),
        pytest.param("20260203", id="without hyphens"),
        pytest.param("2026-W06-2", id="a week date"),
        pytest.param("2026-02-03T00:00:00Z", id="an instant"),
        pytest.param("2026-02-03T00:00:00", id="a naive instant"),
        pytest.param(1_770_076_800, id="seconds since 1970"),
        pytest.param("0000-01-01", id="the year 0"),
        pytest.param("２０２６-02-03", id="full-width digits"),
    ],
)
async def test_a_bad_day_is_pointed_at(client: httpx.AsyncClient, maintainer: Headers, day: object) -> None:
    """Days are YYYY-MM-DD and of the calendar; the pointer reaches into the list."""
    await client.post("/v1/regions", json=REGION, headers=maintainer)
    labels = [{"label": "#1 Cu", "grade": "copper-no1"}, {"label": "#2", "grade": "copper-no2", "from": day}]
    response = await client.post("/v1/yards", json={**YARD, "labels": labels}, headers=maintainer)
    problem = problem_of(response, "invalid-request")
    assert [error.pointer for error in problem.errors] == ["#/labels/1/from"]


@pytest.mark.parametrize(
    "kind",
    [
        "text/plain",
        "application/xml",
        "application/x-www-form-urlencoded",
        "multipart/form-data; boundary=x",
        "application/json; charset=latin-1",
        "application/msgpack",
        "application/jsonp",
        "",
    ],
)
async def test_another_content_type_is_refused(
    client: httpx.AsyncClient, maintainer: Headers, kind: str
) -> None:
    """Only JSON in UTF-8 is taken, whatever the body looks like."""
    headers = {**maintainer, "Content-Type": kind}
    response = await client.post("/v1/regions", content=json.dumps(REGION), headers=headers)
    problem = problem_of(response, "unsupported-media-type")
    assert [error.header for error in problem.errors] == ["Content-Type"]
    assert response.headers["accept-post"] == "application/json"


async def test_a_body_without_a_content_type_is_refused(
    client: httpx.AsyncClient, maintainer: Headers
) -> None:
    """A body that does not say what it is is not guessed at."""
    response = await client.post("/v1/regions", content=json.dumps(REGION).encode(), headers=maintainer)
    problem_of(response, "unsupported-media-type")


@pytest.mark.parametrize(
    "kind", ["application/json", "application/json; charset=utf-8", "Application/JSON;charset=UTF-8"]
)
async def test_the_ways_to_say_json_are_taken(
    client: httpx.AsyncClient, maintainer: Headers, kind: str
) -> None:
    """The content type is compared without regard to case, and may name its charset."""
    headers = {**maintainer, "Content-Type": kind}
    response = await client.post("/v1/regions", content=json.dumps(REGION), headers=headers)
    assert response.status_code == 201


async def test_ten_megabytes_are_refused(client: httpx.AsyncClient, maintainer: Headers) -> None:
    """A body above the limit is refused for its size, before it is read as anything."""
    body = b'{"name": "' + b"x" * 10_000_000 + b'"}'
    problem_of(await post(client, body, maintainer), "payload-too-large")


async def test_ten_megabytes_in_pieces_are_refused(client: httpx.AsyncClient, maintainer: Headers) -> None:
    """A body that does not tell its length is refused as soon as it has grown too large."""

    async def pieces() -> Any:
        for _ in range(100):
            yield b" " * 100_000

    response = await client.post("/v1/regions", content=pieces(), headers={**JSON, **maintainer})
    problem_of(response, "payload-too-large")


@pytest.mark.parametrize(
    ("query", "slug", "parameters"),
    [
        pytest.param("regoin=XO", "invalid-request", ["regoin"], id="unknown"),
        pytest.param("region=XO&region=XO", "invalid-request", ["region"], id="twice"),
        pytest.param("region=", "invalid-request", ["region"], id="empty"),
        pytest.param("region=xo", "invalid-request", ["region"], id="of another form"),
        pytest.param("region=X%00", "invalid-request", ["region"], id="NUL"),
        pytest.param("region=%ff", "malformed-request", [], id="not UTF-8"),
        pytest.param("region", "malformed-request", [], id="without a value"),
        pytest.param("&".join(f"a{n}=1" for n in range(200)), "malformed-request", [], id="200 parameters"),
        pytest.param("region=XQ", "unknown-region", ["region"], id="no such region"),
    ],
)
async def test_a_bad_query_names_the_parameter(
    client: httpx.AsyncClient, query: str, slug: str, parameters: list[str]
) -> None:
    """Parameters that are unknown, repeated or of another form are refused by name."""
    problem = problem_of(await client.get(f"/v1/yards?{query}"), slug)
    assert [error.parameter for error in problem.errors] == parameters


async def test_an_operation_without_parameters_takes_none(client: httpx.AsyncClient) -> None:
    """A stray parameter is refused where there are none, too."""
    problem = problem_of(await client.get("/v1/regions?known_at=3"), "invalid-request")
    assert [error.parameter for error in problem.errors] == ["known_at"]


async def test_a_path_with_a_nul_is_refused(client: httpx.AsyncClient) -> None:
    """A NUL in the path never reaches a database."""
    problem_of(await client.get("/v1/regions/%00"), "malformed-request")


@pytest.mark.parametrize(
    ("number", "slug"),
    [
        (-(2**63), "invalid-request"),
        (2**63 - 1, "invalid-request"),
        (-(2**63) - 1, "malformed-request"),
        (2**63, "malformed-request"),
    ],
)
async def test_a_whole_number_has_64_bits(
    client: httpx.AsyncClient, maintainer: Headers, number: int, slug: str
) -> None:
    """The smallest and the largest that all readers keep are read, and wrong only as a name; more is not."""
    response = await post(client, json.dumps(region(name=number)), maintainer)
    problem_of(response, slug)
