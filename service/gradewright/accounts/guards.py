"""Who may run an operation: `guards=[member]`, `[maintainer]`, or `[known]`: anyone, by name if they say."""

from __future__ import annotations

from typing import Any, cast

from litestar.connection import ASGIConnection
from litestar.handlers import BaseRouteHandler

from gradewright.accounts.service import Account, AccountService, Role
from gradewright.core.errors import NotAllowed
from gradewright.web.guards import bearer_key

Connection = ASGIConnection[Any, Any, Any, Any]
BY_NAME = {"key_optional": True}
"""The `opt` of an operation that is guarded by `known`: it is described as open to anyone."""
STATE_KEY = "accounts"
"""Where the application keeps its `AccountService`."""


async def member(connection: Connection, _: BaseRouteHandler) -> None:
    """Lets accounts through. Raises `KeyRefused`."""
    await _admit(connection, Role.MEMBER)


async def maintainer(connection: Connection, _: BaseRouteHandler) -> None:
    """Lets maintainers through. Raises `KeyRefused`, `NotAllowed`."""
    await _admit(connection, Role.MAINTAINER)


async def known(connection: Connection, _: BaseRouteHandler) -> None:
    """Lets everyone through, by name where a key is sent. Raises `KeyRefused` for a bad one."""
    if connection.headers.getall("authorization", []):
        await _admit(connection, Role.MEMBER)


def caller(connection: Connection) -> Account | None:
    """Who is asking, as a guard has found out; None in an operation that is open to anyone."""
    return cast("Account | None", connection.scope.get("user"))


async def _admit(connection: Connection, role: Role) -> None:
    accounts: AccountService = connection.app.state[STATE_KEY]
    account = await accounts.holder(bearer_key(connection))
    if not account.may(role):
        raise NotAllowed(f"This needs a {role}'s key; {account.handle} is a {account.role}.")
    connection.scope["user"] = account
