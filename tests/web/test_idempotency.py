"""A write that is sent twice under one key is done once."""

from __future__ import annotations

import asyncio
from datetime import timedelta
from types import SimpleNamespace
from typing import Any

import httpx
import pytest
from litestar import Litestar
from sqlalchemy import func, select

from gradewright.asgi import Services, forget_old_replays
from gradewright.db.replays import ReplayRow
from gradewright.web.idempotency import fingerprint
from gradewright.web.problems import Problem

Headers = dict[str, str]
REGION = {"code": "XO", "name": "Orvale", "parent": None, "currency": "USD", "unit": "lb"}


async def add(client: httpx.AsyncClient, headers: Headers, key: str, **changes: object) -> httpx.Response:
    """Adds a region under a key."""
    return await client.post(
        "/v1/regions", json={**REGION, **changes}, headers={**headers, "Idempotency-Key": key}
    )


async def revision(app: Litestar) -> int:
    """The newest revision, as the database has it."""
    services: Services = app.state["services"]
    return (await services.database.newest()).number


async def test_the_second_time_answers_the_first_times_words(
    app: Litestar, client: httpx.AsyncClient, maintainer: Headers
) -> None:
    """The same key and body: the same bytes, status and headers, marked; nothing is written again."""
    first = await add(client, maintainer, "k")
    second = await add(client, maintainer, "k")
    assert (first.status_code, second.status_code) == (201, 201)
    assert second.content == first.content
    assert second.headers["location"] == first.headers["location"] == "/v1/regions/XO"
    assert "idempotency-replayed" not in first.headers
    assert second.headers["idempotency-replayed"] == "true"
    assert second.headers["x-request-id"] != first.headers["x-request-id"]
    assert await revision(app) == 1


async def test_without_a_key_the_second_time_is_a_conflict(
    client: httpx.AsyncClient, maintainer: Headers
) -> None:
    """Nothing is remembered of a write without a key."""
    assert (await client.post("/v1/regions", json=REGION, headers=maintainer)).status_code == 201
    assert (await client.post("/v1/regions", json=REGION, headers=maintainer)).status_code == 409


async def test_the_same_key_with_another_body_is_refused(
    app: Litestar, client: httpx.AsyncClient, maintainer: Headers
) -> None:
    """A key stands for one request; with another body it is a mismatch, and nothing is written."""
    await add(client, maintainer, "k")
    response = await add(client, maintainer, "k", code="XP")
    problem = Problem.model_validate_json(response.content)
    assert (response.status_code, problem.type) == (422, "/problems/idempotency-mismatch")
    assert problem.errors[0].header == "Idempotency-Key"
    assert await revision(app) == 1


async def test_the_same_key_on_another_operation_is_refused(
    client: httpx.AsyncClient, maintainer: Headers
) -> None:
    """A key that was used for a region cannot be used for a yard."""
    await add(client, maintainer, "k")
    yard = {"slug": "low-quay", "name": "Low Quay", "region": "XO", "currency": "USD", "unit": "lb"}
    response = await client.post("/v1/yards", json=yard, headers={**maintainer, "Idempotency-Key": "k"})
    assert Problem.model_validate_json(response.content).type == "/problems/idempotency-mismatch"


async def test_keys_of_two_accounts_do_not_meet(
    app: Litestar, client: httpx.AsyncClient, maintainer: Headers
) -> None:
    """What one account keeps under a key, another never sees."""
    services: Services = app.state["services"]
    await add(client, maintainer, "k")
    role = (await services.accounts.holder(maintainer["Authorization"].split()[1])).role
    other = await services.accounts.make_key("heron", role, "", services.clock())
    response = await add(client, {"Authorization": f"Bearer {other}"}, "k")
    assert response.status_code == 409


async def test_a_refusal_keeps_nothing(client: httpx.AsyncClient, maintainer: Headers) -> None:
    """A request that was refused can be sent again under its key, once the reason is gone."""
    under = {"code": "XO-KEL", "name": "Kelder Bay", "parent": "XO", "currency": "USD", "unit": "lb"}
    headers = {**maintainer, "Idempotency-Key": "k"}
    assert (await client.post("/v1/regions", json=under, headers=headers)).status_code == 422
    await client.post("/v1/regions", json=REGION, headers=maintainer)
    again = await client.post("/v1/regions", json=under, headers=headers)
    assert again.status_code == 201
    assert "idempotency-replayed" not in again.headers


async def test_twenty_at_once_write_once(
    app: Litestar, client: httpx.AsyncClient, maintainer: Headers
) -> None:
    """Twenty requests at once under one key: one writes, all have its answer."""
    answers = await asyncio.gather(*(add(client, maintainer, "k") for _ in range(20)))
    assert {answer.status_code for answer in answers} == {201}
    assert len({answer.content for answer in answers}) == 1
    assert sum("idempotency-replayed" not in answer.headers for answer in answers) == 1
    assert await revision(app) == 1


@pytest.mark.parametrize("key", ["", "a b", "é", "x" * 256])
async def test_a_key_that_cannot_be_is_refused(
    client: httpx.AsyncClient, maintainer: Headers, key: str
) -> None:
    """A key is 1 to 255 visible ASCII characters."""
    headers = [*maintainer.items(), ("Idempotency-Key", key)]
    encoded = [(name.encode(), value.encode()) for name, value in headers]
    response = await client.post("/v1/regions", json=REGION, headers=encoded)
    problem = Problem.model_validate_json(response.content)
    assert (response.status_code, problem.errors[0].header) == (422, "Idempotency-Key")


async def test_old_answers_are_forgotten(
    app: Litestar, client: httpx.AsyncClient, maintainer: Headers
) -> None:
    """Answers are dropped after thirty days, not before."""
    services: Services = app.state["services"]
    await add(client, maintainer, "k")

    async def kept() -> int:
        async with services.database.read() as session:
            return await session.scalar(select(func.count()).select_from(ReplayRow)) or 0

    clock = services.clock
    clock.now += timedelta(days=30)  # type: ignore[attr-defined]
    await forget_old_replays(services)
    assert await kept() == 1
    clock.now += timedelta(seconds=1)  # type: ignore[attr-defined]
    await forget_old_replays(services)
    assert await kept() == 0


async def test_another_path_or_query_is_another_request() -> None:
    """Each of method, path, query and body tells one request from another, and where each ends does too."""
    asked = {"method": "POST", "path": "/v1/yards", "query": b"", "body": b"{}"}
    changes = [
        {},
        {"method": "PUT"},
        {"path": "/v1/regions"},
        {"query": b"a=1"},
        {"body": b"{ }"},
        {"path": "/v1/yard", "query": b"s"},
    ]
    made = [await fingerprint(_request(**{**asked, **change})) for change in changes]
    assert len(set(made)) == len(changes)
    assert await fingerprint(_request(**asked)) == made[0]


def _request(method: str, path: str, query: bytes, body: bytes) -> Any:
    async def read() -> bytes:
        return body

    scope = {"method": method, "path": path, "query_string": query}
    return SimpleNamespace(scope=scope, body=read)
