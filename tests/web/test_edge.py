"""What stands around every operation: ids, methods, types of answers, faults of our own."""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from pathlib import Path

import httpx
import pytest
import structlog
from litestar import Litestar

from gradewright.asgi import Services, create_app
from gradewright.settings import Settings
from gradewright.web.problems import Problem

Headers = dict[str, str]


@pytest.fixture
def database_url(make_url: Callable[[str], str]) -> str:
    """What is held here happens before a database is asked: one kind is enough."""
    return make_url("sqlite")


async def test_every_answer_has_an_id(client: httpx.AsyncClient) -> None:
    """An answer without a given id has a new one each time, faults included."""
    ids = {(await client.get(path)).headers["x-request-id"] for path in ("/healthz", "/healthz", "/nope")}
    assert len(ids) == 3


@pytest.mark.parametrize("given", ["a", "A-1_b.c", "x" * 128])
async def test_a_given_id_is_kept(client: httpx.AsyncClient, given: str) -> None:
    """An id of plain characters goes through to the answer and into the problem."""
    response = await client.get("/nope", headers={"X-Request-Id": given})
    assert response.headers.get_list("x-request-id") == [given]
    assert response.json()["request_id"] == given


@pytest.mark.parametrize("given", ["", "a b", "x" * 129, "é", "a\tb", "<script>"])
async def test_a_strange_id_is_replaced(client: httpx.AsyncClient, given: str) -> None:
    """An id that could do harm in a log is replaced by a new one."""
    response = await client.get("/healthz", headers={b"X-Request-Id": given.encode()})
    assert re.fullmatch(r"[0-9a-f]{32}", response.headers["x-request-id"])


async def test_head_is_answered_where_get_is(client: httpx.AsyncClient) -> None:
    """HEAD answers with the headers of GET, its length included, and no body."""
    whole = await client.get("/v1/regions")
    head = await client.head("/v1/regions")
    assert (head.status_code, head.content) == (200, b"")
    assert head.headers["content-length"] == whole.headers["content-length"]
    assert head.headers["content-type"] == "application/json"


async def test_head_of_nothing_is_a_fault_without_a_body(client: httpx.AsyncClient) -> None:
    """HEAD of what is not there is 404, and the problem's body is left out."""
    head = await client.head("/v1/regions/XQ")
    assert (head.status_code, head.content) == (404, b"")


@pytest.mark.parametrize(
    ("path", "allow"),
    [
        ("/healthz", "GET, HEAD, OPTIONS"),
        ("/v1/regions", "GET, HEAD, POST, OPTIONS"),
        ("/v1/regions/XO", "GET, HEAD, OPTIONS"),
    ],
)
async def test_options_and_405_tell_what_is_allowed(client: httpx.AsyncClient, path: str, allow: str) -> None:
    """OPTIONS lists every method that the path takes, and so does the refusal of another one."""
    options = await client.options(path)
    assert (options.status_code, options.headers["allow"]) == (204, allow)
    refused = await client.request("DELETE", path)
    assert (refused.status_code, refused.headers["allow"]) == (405, allow)
    assert Problem.model_validate_json(refused.content).type == "/problems/method-not-allowed"


@pytest.mark.parametrize("method", ["BREW", "TRACE", "PROPFIND", "PATCH"])
async def test_an_unknown_method_is_405(client: httpx.AsyncClient, method: str) -> None:
    """A method that no path takes is refused like any other that this path does not take."""
    assert (await client.request(method, "/v1/regions")).status_code == 405


@pytest.mark.parametrize("method", ["GET", "HEAD", "POST", "OPTIONS", "BREW"])
async def test_nothing_there_is_404_for_every_method(client: httpx.AsyncClient, method: str) -> None:
    """A path that is not there is 404, whatever is asked of it."""
    response = await client.request(method, "/v1/nope")
    assert response.status_code == 404
    assert response.headers["content-type"] == "application/problem+json"


@pytest.mark.parametrize(
    "accept", ["text/html", "application/xml", "application/json;q=0", "*/*, application/json; q=0.0"]
)
async def test_an_answer_that_is_not_acceptable(client: httpx.AsyncClient, accept: str) -> None:
    """A client that takes no JSON is told so, rather than sent some."""
    response = await client.get("/healthz", headers={"Accept": accept})
    problem = Problem.model_validate_json(response.content)
    assert (response.status_code, problem.errors[0].header) == (406, "Accept")


@pytest.mark.parametrize("accept", ["*/*", "application/*", "application/json", "text/html, */*;q=0.1"])
async def test_the_ways_to_accept_json(client: httpx.AsyncClient, accept: str) -> None:
    """Whoever takes JSON in any way is answered."""
    assert (await client.get("/healthz", headers={"Accept": accept})).status_code == 200


async def test_a_fault_of_ours_is_told_and_logged_and_not_shown(
    app: Litestar, client: httpx.AsyncClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An unforeseen exception is a 500 of the one shape; the log has the traceback, the answer has not."""
    services: Services = app.state["services"]

    async def broken() -> None:
        raise ZeroDivisionError("secret detail")

    monkeypatch.setattr(type(services.regions), "tree", lambda _: broken())
    with structlog.testing.capture_logs() as logged:
        response = await client.get("/v1/regions", headers={"X-Request-Id": "find-me"})
    problem = Problem.model_validate_json(response.content)
    assert (response.status_code, problem.type) == (500, "/problems/internal-error")
    assert problem.request_id == "find-me"
    assert "secret" not in response.text
    assert "ZeroDivision" not in response.text
    (line,) = [entry for entry in logged if entry["event"] == "internal error"]
    assert line["request_id"] == "find-me"
    assert isinstance(line["exc_info"], ZeroDivisionError)


async def test_a_database_without_tables_is_503(make_url: Callable[..., str], tmp_path: Path) -> None:
    """A database that cannot be used makes the service unavailable, not broken; it may be asked again."""
    app = create_app(Settings(database_url=make_url("sqlite", migrated=False)))
    transport = httpx.ASGITransport(app, raise_app_exceptions=False)  # type: ignore[arg-type]
    async with httpx.AsyncClient(transport=transport, base_url="http://test") as client:
        alive = await client.get("/healthz")
        ready = await client.get("/readyz")
    await app.state["services"].database.close()
    assert alive.json() == {"status": "ok"}
    assert ready.status_code == 503
    assert os.listdir(tmp_path) == [], "asking has made a file"
    assert ready.headers["retry-after"] == "2"
    assert Problem.model_validate_json(ready.content).type == "/problems/unavailable"


async def test_a_server_that_is_down_is_503() -> None:
    """A PostgreSQL server that does not answer makes the service unavailable; the log has one line of why."""
    app = create_app(Settings(database_url="postgresql://nobody@127.0.0.1:1/none"))
    transport = httpx.ASGITransport(app, raise_app_exceptions=False)  # type: ignore[arg-type]
    async with httpx.AsyncClient(transport=transport, base_url="http://test") as client:
        with structlog.testing.capture_logs() as logged:
            ready = await client.get("/readyz")
    await app.state["services"].database.close()
    assert ready.status_code == 503
    (line,) = logged
    assert "Connection refused" in line["cause"]
    assert "\n" not in line["cause"]
    assert "exc_info" not in line


async def test_before_a_rulebook_is_loaded_the_service_is_not_ready(client: httpx.AsyncClient) -> None:
    """A migrated database without a rulebook is not ready, and says what to run."""
    response = await client.get("/readyz")
    assert response.status_code == 503
    assert "gradewright rulebooks load" in Problem.model_validate_json(response.content).detail


async def test_the_description_is_served(client: httpx.AsyncClient) -> None:
    """The OpenAPI document is served as JSON, and lists what is there."""
    document = (await client.get("/v1/openapi.json")).json()
    assert document["openapi"] == "3.1.0"
    assert {"/healthz", "/v1/regions", "/v1/yards/{yard}"} <= set(document["paths"])


async def test_requests_can_be_logged(database_url: str) -> None:
    """When asked for, one line a request tells method, path, status and id, control characters escaped."""
    app = create_app(Settings(database_url=database_url, log_requests=True))
    transport = httpx.ASGITransport(app, raise_app_exceptions=False)  # type: ignore[arg-type]
    async with httpx.AsyncClient(transport=transport, base_url="http://test") as client:
        with structlog.testing.capture_logs() as logged:
            await client.get("/v1/no%0Asuch", headers={"X-Request-Id": "r1"})
    await app.state["services"].database.close()
    (line,) = logged
    assert {name: line[name] for name in ("event", "method", "path", "status", "request_id")} == {
        "event": "request",
        "method": "GET",
        "path": "/v1/no%0Asuch",
        "status": 404,
        "request_id": "r1",
    }
