"""Accounts: making, finding and revoking keys."""

from __future__ import annotations

import hashlib
import re
import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from gradewright.accounts import repository
from gradewright.core.errors import Conflict, KeyRefused, NotAllowed, NotFound, Refused
from gradewright.db.session import Database
from gradewright.db.together import Together

KEYS_AT_ONCE = 100
_HANDLE = re.compile(r"[a-z][a-z0-9-]{1,31}", re.ASCII)
_KEY = re.compile(r"gw_[A-Za-z0-9_-]{32}", re.ASCII)


class Role(StrEnum):
    """What an account may do; a maintainer may do all that a member may."""

    MEMBER = "member"
    MAINTAINER = "maintainer"


@dataclass(frozen=True, slots=True)
class Account:
    """Who is asking."""

    handle: str
    role: Role

    def may(self, role: Role) -> bool:
        """Whether the account may do what `role` may."""
        return self.role in (role, Role.MAINTAINER)


@dataclass(frozen=True, slots=True)
class Key:
    """A key as it can be listed: `id` is the beginning of its digest; the key itself is nowhere."""

    id: str
    handle: str
    role: Role
    label: str
    created_at: datetime
    revoked_at: datetime | None


class AccountService:
    """Keys are random and long, so a plain SHA-256 is enough, and finding one by it leaks nothing."""

    def __init__(self, database: Database) -> None:
        self._database = database
        self._together = Together(self._holders, most=KEYS_AT_ONCE)

    async def holder(self, key: str) -> Account:
        """Whose key it is. Raises `KeyRefused` for one unknown or revoked, without telling which."""
        if _KEY.fullmatch(key):
            account = await self._together.do(digest(key))
            if account is not None:
                return account
        raise KeyRefused("This key is not valid here, or it has been revoked. Ask your operator for one.")

    async def _holders(self, digests: Sequence[str]) -> list[Account | None]:
        """Whose keys they are: one look for all requests that came during the last one."""
        async with self._database.read() as session:
            found = await repository.holders(session, set(digests))
        accounts = {sha256: Account(handle, Role(role)) for sha256, (handle, role) in found.items()}
        return [accounts.get(sha256) for sha256 in digests]

    async def make_key(self, handle: str, role: Role, label: str, now: datetime) -> str:
        """Makes a key, and the account where there is none; gives the key, which is never seen again.

        Raises `Refused` for a handle of another form, `Conflict` where the account has another role.
        """
        if not _HANDLE.fullmatch(handle):
            raise Refused(
                f"{handle!r} cannot be a handle: write 2 to 32 lower-case letters, digits and hyphens, "
                "beginning with a letter."
            )
        key = "gw_" + secrets.token_urlsafe(24)
        async with self._database.write() as session:
            there = await repository.account(session, handle, role, now)
            if there.role != role:
                raise Conflict(
                    f"{handle} is a {there.role} already. Make the key with --role {there.role}, "
                    "or choose another handle."
                )
            await repository.add_key(session, digest(key), handle, label, now)
        return key

    async def named(self, handle: str, role: Role) -> Account:
        """The account of that handle. Raises `NotFound`, or `NotAllowed` where it is of a lower role."""
        async with self._database.read() as session:
            found = await repository.find(session, handle)
        if found is None:
            raise NotFound(f"There is no account {handle[:80]!r}. See `gradewright keys list`.")
        account = Account(found.handle, Role(found.role))
        if not account.may(role):
            raise NotAllowed(f"This is for a {role}; {handle} is a {account.role}.")
        return account

    async def keys(self) -> list[Key]:
        """All keys, revoked ones too."""
        async with self._database.read() as session:
            return [
                Key(key.sha256[:12], key.handle, Role(owner.role), key.label, key.created_at, key.revoked_at)
                for key, owner in await repository.keys(session)
            ]

    async def revoke(self, key_id: str, now: datetime) -> None:
        """Revokes one key by the beginning of its digest. Raises `NotFound`, `Refused` where unclear."""
        if not re.fullmatch(r"[0-9a-f]{6,64}", key_id):
            raise Refused(f"{key_id!r} is not the id of a key: write the one that `keys list` shows.")
        async with self._database.write() as session:
            found = await repository.revoke(session, key_id, now)
        if not found:
            raise NotFound(f"There is no key {key_id}. See `gradewright keys list`.")
        if len(found) > 1:
            raise Refused(f"{len(found)} keys begin with {key_id}: write more of the id. None was revoked.")


def digest(key: str) -> str:
    """The SHA-256 of a key, as it is stored."""
    return hashlib.sha256(key.encode()).hexdigest()
