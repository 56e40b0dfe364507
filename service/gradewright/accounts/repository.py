"""Queries of accounts and keys."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import datetime

from sqlalchemy import insert, select, update
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.accounts.models import AccountRow, KeyRow
from gradewright.db.adding import add_unless_there


async def account(session: AsyncSession, handle: str, role: str, now: datetime) -> AccountRow:
    """The account of that handle; where there is none, one of that role is added."""
    await add_unless_there(session, AccountRow, handle=handle, role=role, created_at=now)
    return await session.get_one(AccountRow, handle)


async def find(session: AsyncSession, handle: str) -> AccountRow | None:
    """The account of that handle."""
    return await session.get(AccountRow, handle)


async def holders(session: AsyncSession, digests: Collection[str]) -> dict[str, tuple[str, str]]:
    """Handle and role of whose keys those are that have not been revoked, by the digests of the keys."""
    found = (
        select(KeyRow.sha256, AccountRow.handle, AccountRow.role)
        .join(AccountRow, KeyRow.handle == AccountRow.handle)
        .where(KeyRow.sha256.in_(digests), KeyRow.revoked_at.is_(None))
    )
    return {sha256: (handle, role) for sha256, handle, role in await session.execute(found)}


async def add_key(session: AsyncSession, sha256: str, handle: str, label: str, now: datetime) -> None:
    """Adds the digest of a key."""
    await session.execute(insert(KeyRow).values(sha256=sha256, handle=handle, label=label, created_at=now))


async def keys(session: AsyncSession) -> Sequence[tuple[KeyRow, AccountRow]]:
    """All keys with their accounts, by handle and age."""
    found = (
        select(KeyRow, AccountRow)
        .join(AccountRow, KeyRow.handle == AccountRow.handle)
        .order_by(KeyRow.handle, KeyRow.created_at)
    )
    return [(key, owner) for key, owner in (await session.execute(found)).all()]


async def revoke(session: AsyncSession, beginning: str, now: datetime) -> list[str]:
    """Revokes the key whose digest begins so; gives all digests that do, and revokes none of several."""
    digests = list(
        await session.scalars(
            select(KeyRow.sha256).where(KeyRow.sha256.startswith(beginning, autoescape=True))
        )
    )
    if len(digests) == 1:
        await session.execute(
            update(KeyRow)
            .where(KeyRow.sha256 == digests[0], KeyRow.revoked_at.is_(None))
            .values(revoked_at=now)
        )
    return digests
