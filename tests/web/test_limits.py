"""A limit on requests: told in every answer, refused as a problem beyond it, counted per client."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from typing import Any, cast

import httpx
import pytest
from litestar import Litestar

from gradewright.accounts.service import AccountService, Role
from gradewright.asgi import create_app
from gradewright.settings import Settings
from gradewright.web import limits
from gradewright.web.routing import Edge

NOW = datetime(2026, 5, 4, tzinfo=UTC)
ADDRESS = "192.0.2.1"
UNKNOWN = "Bearer gw_" + "x" * 32


@pytest.fixture
async def limited(database_url: str) -> AsyncIterator[Litestar]:
    """A service that takes three requests a minute of each client."""
    app = create_app(Settings(database_url=database_url, requests_per_minute=3))
    yield app
    await app.state["services"].database.close()


@asynccontextmanager
async def at(app: Litestar, address: str = ADDRESS) -> AsyncIterator[httpx.AsyncClient]:
    """A client at an address."""
    transport = httpx.ASGITransport(app=cast("Any", app), client=(address, 1))
    async with httpx.AsyncClient(transport=transport, base_url="http://limits") as found:
        yield found


@pytest.fixture
async def client(limited: Litestar) -> AsyncIterator[httpx.AsyncClient]:
    """A client at one address."""
    async with at(limited) as found:
        yield found


async def ask(client: httpx.AsyncClient, *authorizations: str | None, times: int = 1) -> list[int]:
    """The status of requests, sent with each Authorization header in turn."""
    found = []
    for authorization in authorizations * times:
        headers = {"Authorization": authorization} if authorization else {}
        found.append((await client.get("/v1/regions", headers=headers)).status_code)
    return found


async def key(app: Litestar, handle: str) -> str:
    """The Authorization header of a new key of an account."""
    accounts: AccountService = app.state["services"].accounts
    return "Bearer " + await accounts.make_key(handle, Role.MEMBER, "", NOW)


def counters(app: Litestar) -> int:
    """How many counters the service keeps."""
    limiter = cast("Edge", app.asgi_handler).limiter
    assert limiter is not None
    return limiter.counters


async def test_the_window_is_told_and_kept(client: httpx.AsyncClient) -> None:
    """Three requests are answered, each with what is left; the fourth is a problem, with the time to wait."""
    answers = [await client.get("/v1/regions") for _ in range(4)]
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


async def test_accounts_are_counted_apart(limited: Litestar, client: httpx.AsyncClient) -> None:
    """One account's requests use up neither another's nor those of its address, nor those its own."""
    wren, rook = await key(limited, "wren"), await key(limited, "rook")
    for who in (None, wren, rook):
        assert await ask(client, who, times=4) == [200, 200, 200, 429]


async def test_an_account_is_one_client_with_all_its_keys(
    limited: Litestar, client: httpx.AsyncClient
) -> None:
    """More keys are no more requests, from wherever they are sent."""
    keys = [await key(limited, "wren") for _ in range(2)]
    assert await ask(client, *keys, times=2) == [200, 200, 200, 429]
    async with at(limited, "192.0.2.2") as elsewhere:
        assert await ask(elsewhere, keys[0]) == [429]


async def test_keys_that_are_not_valid_buy_nothing(limited: Litestar, client: httpx.AsyncClient) -> None:
    """Whatever stands in the Authorization header, what is not a valid key counts for its address."""
    forged = [f"nonsense {turn}" for turn in range(25)] + [f"Bearer gw_{turn:032}" for turn in range(25)]
    assert (await ask(client, *forged)).count(429) == 47
    assert await ask(client, None) == [429]
    assert counters(limited) <= 2
    revoked = await key(limited, "wren")
    accounts: AccountService = limited.state["services"].accounts
    await accounts.revoke((await accounts.keys())[0].id, NOW)
    assert await ask(client, revoked) == [429]


async def test_unknown_keys_are_not_looked_up_for_ever(
    limited: Litestar, client: httpx.AsyncClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An address that has sent its share of unknown keys gives the database no more work in that minute."""
    looked_up = 0
    real = AccountService.holder

    async def counted(self: AccountService, sent: str) -> Any:
        nonlocal looked_up
        looked_up += 1
        return await real(self, sent)

    monkeypatch.setattr(AccountService, "holder", counted)
    await ask(client, *(f"Bearer gw_{turn:032}" for turn in range(20)))
    assert looked_up == 3


async def test_an_address_of_version_six_is_its_network(limited: Litestar) -> None:
    """Whoever has a whole network of addresses (a /64, as customers get) is one client."""
    found = []
    for turn in range(4):
        async with at(limited, f"2001:db8:1:2::{turn:x}") as client:
            found += await ask(client, None)
    assert found == [200, 200, 200, 429]
    async with at(limited, "2001:db8:1:3::1") as neighbour:
        assert await ask(neighbour, None) == [200]


async def test_the_counters_are_bounded(limited: Litestar, monkeypatch: pytest.MonkeyPatch) -> None:
    """Beyond so many addresses in a minute the rest share one counter; accounts keep their own."""
    monkeypatch.setattr(limits, "COUNTERS_KEPT", 5)
    found = []
    for turn in range(9):
        async with at(limited, f"192.0.2.{turn}") as client:
            found += await ask(client, None)
    assert found == [200] * 8 + [429]
    assert counters(limited) == 6
    async with at(limited, "192.0.2.8") as client:
        assert await ask(client, await key(limited, "wren")) == [200]


@pytest.mark.parametrize("method", ["GET", "HEAD"])
async def test_probes_are_not_counted(client: httpx.AsyncClient, method: str) -> None:
    """Whoever asks how the service is gets to know that, and uses nothing up."""
    answers = [await client.request(method, path) for path in ("/healthz", "/readyz") for _ in range(4)]
    assert [answer.status_code for answer in answers] == [200] * 4 + [503] * 4
    assert not any("RateLimit" in answer.headers for answer in answers)
    assert await ask(client, None, times=4) == [200, 200, 200, 429]


async def test_without_its_database_the_service_counts_by_address() -> None:
    """While no key can be looked up, requests are counted and answered all the same."""
    settings = Settings(database_url="postgresql://nobody@127.0.0.1:1/none", requests_per_minute=3)
    app = create_app(settings)
    async with at(app) as client:
        sent = [await client.get("/v1/openapi.json", headers={"Authorization": UNKNOWN}) for _ in range(4)]
    await app.state["services"].database.close()
    assert [answer.status_code for answer in sent] == [200, 200, 200, 429]


async def test_without_a_limit_nothing_is_told(database_url: str) -> None:
    """The default is no limit, and no fields about one."""
    app = create_app(Settings(database_url=database_url))
    async with at(app) as client:
        answer = await client.get("/v1/regions")
    await app.state["services"].database.close()
    assert answer.status_code == 200
    assert "RateLimit" not in answer.headers
