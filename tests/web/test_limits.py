"""A limit on requests: told in every answer, refused as a problem beyond it, counted per client."""

from __future__ import annotations

from collections.abc import AsyncIterator

import httpx
import pytest

from gradewright.asgi import create_app
from gradewright.settings import Settings


@pytest.fixture
async def client(database_url: str) -> AsyncIterator[httpx.AsyncClient]:
    app = create_app(Settings(database_url=database_url, requests_per_minute=3))
    transport = httpx.ASGITransport(app=app, client=("192.0.2.1", 1))
    async with httpx.AsyncClient(transport=transport, base_url="http://limits") as found:
        yield found
    await app.state["services"].database.close()


async def test_the_window_is_told_and_kept(client: httpx.AsyncClient) -> None:
    """Three requests are answered, each with what is left; the fourth is a problem, with the time to wait."""
    answers = [await client.get("/healthz") for _ in range(4)]
    assert [answer.status_code for answer in answers] == [200, 200, 200, 429]
    assert [answer.headers["RateLimit-Policy"] for answer in answers] == ['"requests";q=3;w=60'] * 4
    left = [answer.headers["RateLimit"].split(";")[1] for answer in answers]
    assert left == ["r=2", "r=1", "r=0", "r=0"]
    refused = answers[-1]
    assert refused.headers["Content-Type"] == "application/problem+json"
    assert 1 <= int(refused.headers["Retry-After"]) <= 60
    problem = refused.json()
    assert problem["type"] == "/problems/too-many-requests"
    assert problem["request_id"] == refused.headers["X-Request-Id"]
    assert problem["errors"] == []


async def test_clients_are_counted_apart(client: httpx.AsyncClient) -> None:
    """One key's requests do not use up another's, nor those of an address."""
    for key in ("gw_one", "gw_two", None):
        headers = {"Authorization": f"Bearer {key}"} if key else {}
        found = [(await client.get("/healthz", headers=headers)).status_code for _ in range(4)]
        assert found == [200, 200, 200, 429]


async def test_without_a_limit_nothing_is_told(database_url: str) -> None:
    """The default is no limit, and no fields about one."""
    app = create_app(Settings(database_url=database_url))
    async with httpx.AsyncClient(transport=httpx.ASGITransport(app=app), base_url="http://limits") as client:
        answer = await client.get("/healthz")
    await app.state["services"].database.close()
    assert answer.status_code == 200
    assert "RateLimit" not in answer.headers
