"""Answers kept under an idempotency key, so that a repeated write answers the first time's words."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from operator import itemgetter
from typing import Generic, TypeVar, cast

from sqlalchemy import Table, bindparam, delete, insert, update
from sqlalchemy.exc import IntegrityError
from sqlalchemy.ext.asyncio import AsyncSession
from sqlalchemy.orm import Mapped, mapped_column

from gradewright.db.adding import add_unless_there
from gradewright.db.base import Base
from gradewright.db.packed import pack, unpack


class ReplayRow(Base):
    """One keyed request of one caller. Status and body are empty only inside the writing transaction."""

    __tablename__ = "idempotency"

    scope: Mapped[str] = mapped_column(primary_key=True)
    key: Mapped[str] = mapped_column(primary_key=True)
    request_sha256: Mapped[str]
    status: Mapped[int | None]
    headers: Mapped[str | None]
    body: Mapped[bytes | None]
    created_at: Mapped[datetime] = mapped_column(index=True)


A = TypeVar("A")
_TABLE = cast("Table", ReplayRow.__table__)
_ADD = insert(_TABLE)
_KEEP = update(_TABLE).where(_TABLE.c.scope == bindparam("of"), _TABLE.c.key == bindparam("under"))


@dataclass(frozen=True, slots=True)
class Replay:
    """An answer that was given before."""

    request_sha256: str
    status: int
    headers: dict[str, str]
    body: bytes


async def claim(
    session: AsyncSession, scope: str, key: str, request_sha256: str, now: datetime
) -> Replay | None:
    """Takes the key for the write in `session`, or gives the answer that stands under it.

    A second request with the key waits here until the first one has committed or given up.
    """
    row = {"scope": scope, "key": key, "request_sha256": request_sha256, "created_at": now}
    if await add_unless_there(session, ReplayRow, **row):
        return None
    there = await session.get_one(ReplayRow, (scope, key))
    if there.status is None or there.body is None:
        raise RuntimeError(f"idempotency key {key!r} of {scope!r} was committed without an answer")
    headers: dict[str, str] = json.loads(there.headers or "{}")
    return Replay(there.request_sha256, there.status, headers, await unpack(there.body))


async def keep(session: AsyncSession, scope: str, key: str, answer: Replay) -> None:
    """Keeps the answer under the claimed key, in the transaction of the write itself."""
    await session.execute(
        update(ReplayRow)
        .where(ReplayRow.scope == scope, ReplayRow.key == key)
        .values(status=answer.status, headers=json.dumps(answer.headers), body=await pack(answer.body))
        .execution_options(synchronize_session=False)
    )


@dataclass(frozen=True, slots=True)
class Claim(Generic[A]):
    """A key for a write that is done together with others; `replay` makes of its answer what is kept."""

    scope: str
    key: str
    request_sha256: str
    now: datetime
    replay: Callable[[A], Replay]


class KeyTaken(Exception):
    """One of the keys stands there already: what is to be done is for `claim` to find out."""


async def claim_all(session: AsyncSession, claims: Iterable[Claim[A]]) -> None:
    """Takes several keys, in an order that all writers keep. Raises `KeyTaken`; then all is to be undone."""
    rows = [
        {"scope": one.scope, "key": one.key, "request_sha256": one.request_sha256, "created_at": one.now}
        for one in claims
    ]
    if rows:
        rows.sort(key=itemgetter("scope", "key"))
        try:
            await session.execute(_ADD, rows)
        except IntegrityError as error:
            raise KeyTaken from error


async def keep_all(session: AsyncSession, answers: Iterable[tuple[Claim[A], A]]) -> None:
    """Keeps the answers under the claimed keys."""
    rows = []
    for one, answer in answers:
        replay = one.replay(answer)
        body = await pack(replay.body)
        rows.append(
            {
                "of": one.scope,
                "under": one.key,
                "status": replay.status,
                "headers": json.dumps(replay.headers),
                "body": body,
            }
        )
    if rows:
        connection = await session.connection()
        await connection.execute(_KEEP, rows)


async def forget(session: AsyncSession, before: datetime) -> None:
    """Drops the answers that were kept before an instant."""
    await session.execute(
        delete(ReplayRow).where(ReplayRow.created_at < before).execution_options(synchronize_session=False)
    )
