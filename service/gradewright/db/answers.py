"""Kept answers of every kind: their rows, only ever added, and how they are found."""

from __future__ import annotations

from datetime import datetime
from typing import TypeVar

from sqlalchemy import ForeignKey, func, select
from sqlalchemy.ext.asyncio import AsyncSession
from sqlalchemy.orm import Mapped, mapped_column

from gradewright.db.base import Base


class KeptAnswer(Base):
    """What is kept of every answer: the request, its pins, and the bytes, as `db.packed` packs them."""

    __abstract__ = True

    id: Mapped[str] = mapped_column(primary_key=True)
    created_at: Mapped[datetime] = mapped_column(index=True)
    request: Mapped[str]
    rulebook: Mapped[str] = mapped_column(ForeignKey("rulebooks.version"))
    revision: Mapped[int]
    method: Mapped[str]
    answer: Mapped[bytes]
    sha256: Mapped[str]
    # Of the tree over the ledger at that revision; empty where it was kept before there was a tree.
    tree_size: Mapped[int | None] = mapped_column(default=None)
    tree_root: Mapped[bytes | None] = mapped_column(default=None)


class AnswerRow(KeptAnswer):
    """A kept decision: a teardown, a haul, a settlement, a recovery; its id says which."""

    __tablename__ = "answers"

    author: Mapped[str | None] = mapped_column(ForeignKey("accounts.handle"), default=None)


Row = TypeVar("Row", bound=KeptAnswer)


async def add(session: AsyncSession, row: KeptAnswer) -> None:
    """Keep an answer; it can never be changed afterwards."""
    session.add(row)
    await session.flush()


async def find(session: AsyncSession, rows: type[Row], answer: str) -> Row | None:
    """A kept answer by its id."""
    return await session.get(rows, answer)


async def given_since(session: AsyncSession, rows: type[KeptAnswer], rulebook: str, since: datetime) -> int:
    """How many kept answers by a version of the rulebook were given at an instant or later."""
    asked = select(func.count()).select_from(rows).where(rows.rulebook == rulebook, rows.created_at >= since)
    return await session.scalar(asked) or 0


async def trees(session: AsyncSession, rows: type[KeptAnswer]) -> list[tuple[int, bytes, str]]:
    """The trees that kept answers were given with: size, root, and the id of one of them."""
    found = await session.execute(
        select(rows.tree_size, rows.tree_root, func.min(rows.id))
        .where(rows.tree_size.is_not(None), rows.tree_root.is_not(None))
        .group_by(rows.tree_size, rows.tree_root)
    )
    return [(size, root, answer) for size, root, answer in found if size is not None and root is not None]
