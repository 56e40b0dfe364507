"""A database that cannot be written is read all the same; a write says what is the matter."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from datetime import UTC, datetime
from typing import Any

import pytest
from tests.api import World, posting, price, problem_of
from tests.conftest import talk_to
from tests.test_cli_database import execute, read_only

from gradewright.accounts.service import AccountService, Role
from gradewright.asgi import create_app, forget_old_replays
from gradewright.core.rulebook import Rulebook
from gradewright.db.engines import read_url
from gradewright.db.readonly import ReadOnlyDatabase
from gradewright.db.session import Database
from gradewright.rulebooks import proof
from gradewright.settings import Settings

NOW = datetime(2026, 5, 4, tzinfo=UTC)
PARTS = [{"name": "wire", "weight": "2 lb", "grade": "copper-no1"}]
ASKED = {"region": "XO-KEL", "grade": "copper-no1"}


@pytest.fixture
async def kept(world: World) -> AsyncIterator[World]:
    """The district with a price in it, as a service has it that can only read."""
    await world.post(price("copper-no1", "3.00"))
    url = read_only(world.services.database.url.render_as_string(hide_password=False))
    app = create_app(Settings(database_url=url, ledger_poll_seconds=0), clock=world.clock)
    async with talk_to(app) as client:
        yield World(app, client, world.clock, world.keys)


async def test_reads_are_answered(kept: World) -> None:
    """Prices and valuations that are not kept are answered, and the service is ready."""
    assert (await kept.get("/v1/prices", **ASKED))["prices"][0]["likely"]
    valued = await kept.send("/v1/valuations", {"region": "XO-KEL", "parts": PARTS})
    assert valued.status_code == 200, valued.text
    assert (await kept.client.get("/readyz")).status_code == 200


async def test_a_proof_that_cannot_be_kept_is_remembered(
    kept: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It takes seconds, and anybody may ask for it: the last few are not worked out again."""
    proved, prove = list[str](), proof.prove

    def counting(rulebook: Rulebook, *rest: Any) -> proof.Proof:
        proved.append(rulebook.version)
        return prove(rulebook, *rest)

    monkeypatch.setattr(proof, "prove", counting)
    first, second = [await kept.get("/v1/rulebooks/2020.1/proof") for _ in "12"]
    assert first == second
    assert proved == ["2020.1"]


@pytest.mark.parametrize("key", [None, "k-1"], ids=["plain", "keyed"])
async def test_writes_are_503(kept: World, key: str | None) -> None:
    """A posting and a valuation to be kept are refused as unavailable, in words that name the cause."""
    headers = {"Idempotency_Key": key} if key else {}
    valuation = {"region": "XO-KEL", "parts": PARTS, "keep": True}
    for path, body in (("/v1/postings", posting(price("copper-no1", "3.10"))), ("/v1/valuations", valuation)):
        problem = problem_of(await kept.send(path, body, "wren", **headers), "unavailable")
        assert "cannot be written" in problem.detail
        assert "othing was stored" in problem.detail


async def test_the_service_starts(kept: World) -> None:
    """What is dropped at the start can stay where nothing can be dropped."""
    await forget_old_replays(kept.services)


async def test_whoever_writes_past_the_interface_is_told_by_type(kept: World) -> None:
    """A write raises an error of its own kind, and the next read is answered."""
    with pytest.raises(ReadOnlyDatabase):
        await kept.services.accounts.make_key("rook", Role.MEMBER, "", kept.clock())
    assert await kept.services.accounts.keys()


async def test_a_role_that_may_only_read_is_told_alike(make_url: Callable[..., str]) -> None:
    """What PostgreSQL says of missing rights to write is the same to whoever wanted to."""
    url = make_url("postgresql")
    role = f"reader_{read_url(url).database}"
    granted = f"GRANT SELECT ON ALL TABLES IN SCHEMA public TO {role}"
    execute(url, f"CREATE ROLE {role} LOGIN", granted)
    reader = read_url(url).set(username=role, password=None).render_as_string(hide_password=False)
    database = Database(reader)
    accounts = AccountService(database)
    assert await accounts.keys() == []
    with pytest.raises(ReadOnlyDatabase, match="permission denied"):
        await accounts.make_key("wren", Role.MEMBER, "", NOW)
    await database.close()
    execute(url, f"DROP OWNED BY {role}", f"DROP ROLE {role}")
