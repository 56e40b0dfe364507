"""Keys: random, stored only as digests, checked on every write."""

from __future__ import annotations

import asyncio
import hashlib
import re
from datetime import UTC, datetime

import httpx
import pytest
from litestar import Litestar
from sqlalchemy import select, text

from gradewright.accounts.models import KeyRow
from gradewright.accounts.service import Account, AccountService, Role, digest
from gradewright.asgi import Services
from gradewright.core.errors import Conflict, KeyRefused, NotFound, Refused
from gradewright.db.session import Database
from gradewright.web.problems import Problem

NOW = datetime(2026, 5, 4, tzinfo=UTC)
Headers = dict[str, str]
REGION = {"code": "XO", "name": "Orvale", "parent": None, "currency": "USD", "unit": "lb"}


@pytest.fixture
def accounts(database: Database) -> AccountService:
    """Accounts over a fresh database."""
    return AccountService(database)


async def test_a_key_names_its_account(accounts: AccountService) -> None:
    """A key that was made is its account's, with the account's role."""
    key = await accounts.make_key("wren", Role.MEMBER, "phone", NOW)
    assert re.fullmatch(r"gw_[A-Za-z0-9_-]{32}", key)
    holder = await accounts.holder(key)
    assert (holder.handle, holder.role) == ("wren", Role.MEMBER)


async def test_only_the_digest_is_stored(accounts: AccountService, database: Database) -> None:
    """The key itself is nowhere in the database."""
    key = await accounts.make_key("wren", Role.MEMBER, "", NOW)
    expected = hashlib.sha256(key.encode("ascii")).hexdigest()
    async with database.read() as session:
        assert (await session.scalars(select(KeyRow.sha256))).all() == [expected]
        rows = [tuple(row) for row in await session.execute(text("SELECT * FROM keys"))]
    assert key not in repr(rows)


async def test_keys_are_all_different(accounts: AccountService) -> None:
    """An account may have several keys, each its own."""
    made = {await accounts.make_key("wren", Role.MEMBER, "", NOW) for _ in range(5)}
    assert len(made) == 5
    assert {(await accounts.holder(key)).handle for key in made} == {"wren"}


async def test_a_revoked_key_is_refused_and_others_stay(accounts: AccountService) -> None:
    """Revoking takes one key and leaves the account and its other keys."""
    lost = await accounts.make_key("wren", Role.MEMBER, "lost", NOW)
    kept = await accounts.make_key("wren", Role.MEMBER, "kept", NOW)
    await accounts.revoke(digest(lost)[:12], NOW)
    with pytest.raises(KeyRefused):
        await accounts.holder(lost)
    assert (await accounts.holder(kept)).handle == "wren"
    revoked = {key.label: key.revoked_at for key in await accounts.keys()}
    assert revoked == {"lost": NOW, "kept": None}


async def test_revoking_needs_one_key_exactly(accounts: AccountService) -> None:
    """An id that names no key is not found, one of another form is refused; nothing is revoked."""
    key = await accounts.make_key("wren", Role.MEMBER, "", NOW)
    other = "0" * 12 if not digest(key).startswith("0" * 12) else "1" * 12
    with pytest.raises(NotFound):
        await accounts.revoke(other, NOW)
    for wrong in ("", "abc", "%", "______", key):
        with pytest.raises(Refused):
            await accounts.revoke(wrong, NOW)
    assert (await accounts.holder(key)).handle == "wren"


async def test_an_account_keeps_its_role(accounts: AccountService) -> None:
    """A key in another role is refused: a role is not changed in passing."""
    await accounts.make_key("wren", Role.MEMBER, "", NOW)
    with pytest.raises(Conflict, match="member already"):
        await accounts.make_key("wren", Role.MAINTAINER, "", NOW)
    assert [key.role for key in await accounts.keys()] == [Role.MEMBER]


async def test_a_new_account_made_twice_at_once_is_one(accounts: AccountService) -> None:
    """Two who make a new account's first key at the same moment both get one, of the same account."""
    made = await asyncio.gather(*(accounts.make_key("wren", Role.MEMBER, "", NOW) for _ in range(2)))
    assert [(await accounts.holder(key)).handle for key in made] == ["wren", "wren"]


async def test_a_new_account_in_two_roles_at_once_has_one(accounts: AccountService) -> None:
    """Of two who make the same new account in different roles one is told which role it has."""
    roles = (Role.MEMBER, Role.MAINTAINER)
    asked = (accounts.make_key("wren", role, "", NOW) for role in roles)
    made = await asyncio.gather(*asked, return_exceptions=True)
    (refused,) = [one for one in made if isinstance(one, BaseException)]
    assert isinstance(refused, Conflict)
    assert len({key.role for key in await accounts.keys()}) == 1


@pytest.mark.parametrize(
    "handle", ["", "w", "Wren", "1wren", "wren\n", "wrén", "w" * 33, "wren bird", "-wren"]
)
async def test_a_handle_that_cannot_be(accounts: AccountService, handle: str) -> None:
    """Handles are short, lower-case and plain."""
    with pytest.raises(Refused):
        await accounts.make_key(handle, Role.MEMBER, "", NOW)


@pytest.mark.parametrize("key", ["", "gw_", "gw_" + "x" * 32, "x" * 35, "gw_" + "x" * 10_000, "gw_\x00"])
async def test_a_key_that_was_never_made_is_refused(accounts: AccountService, key: str) -> None:
    """What is not a key is refused in the same words as one that is unknown."""
    with pytest.raises(KeyRefused, match="not valid here, or it has been revoked"):
        await accounts.holder(key)


@pytest.mark.parametrize(
    "authorization",
    [
        None,
        "",
        "Bearer",
        "Bearer ",
        "Basic d3JlbjpzZWNyZXQ=",
        "Bearer gw_" + "x" * 32,
        "Bearer a b",
        "gw_" + "x" * 32,
        "Bearer gw_é",
    ],
)
async def test_without_a_good_key_a_write_is_401(
    client: httpx.AsyncClient, authorization: str | None
) -> None:
    """No key, a malformed header, an unknown key: 401 with a challenge, before the body is looked at."""
    headers = [] if authorization is None else [(b"authorization", authorization.encode())]
    response = await client.post("/v1/regions", content=b"not json", headers=headers)
    problem = Problem.model_validate_json(response.content)
    assert (response.status_code, problem.type) == (401, "/problems/unauthorized")
    assert response.headers["www-authenticate"] == "Bearer"
    assert "x" * 32 not in response.text


async def test_two_authorization_headers_are_401(client: httpx.AsyncClient, maintainer: Headers) -> None:
    """A key sent twice is not chosen from."""
    pairs = [(b"authorization", value.encode()) for value in (maintainer["Authorization"], "Bearer gw_x")]
    assert (await client.post("/v1/regions", json=REGION, headers=pairs)).status_code == 401


async def test_a_member_may_not_do_what_maintainers_do(client: httpx.AsyncClient, member: Headers) -> None:
    """A good key of too low a role is 403, which says which role it takes."""
    response = await client.post("/v1/regions", json=REGION, headers=member)
    problem = Problem.model_validate_json(response.content)
    assert (response.status_code, problem.type) == (403, "/problems/forbidden")
    assert "maintainer" in problem.detail


async def test_the_word_bearer_is_read_in_any_case(client: httpx.AsyncClient, maintainer: Headers) -> None:
    """The scheme's name is not case-sensitive (RFC 9110)."""
    lower = {"Authorization": maintainer["Authorization"].replace("Bearer", "bearer")}
    assert (await client.post("/v1/regions", json=REGION, headers=lower)).status_code == 201


async def test_reading_needs_no_key(client: httpx.AsyncClient) -> None:
    """What is open to anyone is open with a bad key too."""
    headers = {"Authorization": "Bearer gw_" + "x" * 32}
    assert (await client.get("/v1/regions", headers=headers)).status_code == 200


async def test_a_key_revoked_while_serving_is_refused_at_once(
    app: Litestar, client: httpx.AsyncClient, maintainer: Headers
) -> None:
    """No worker remembers a key."""
    services: Services = app.state["services"]
    (key,) = await services.accounts.keys()
    assert (await client.post("/v1/regions", json=REGION, headers=maintainer)).status_code == 201
    await services.accounts.revoke(key.id, NOW)
    assert (await client.post("/v1/regions", json=REGION, headers=maintainer)).status_code == 401


def test_a_maintainer_may_do_all_a_member_may() -> None:
    """Roles are a ladder of two steps."""
    assert Account("sedge", Role.MAINTAINER).may(Role.MEMBER)
    assert not Account("wren", Role.MEMBER).may(Role.MAINTAINER)
