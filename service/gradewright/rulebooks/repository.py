"""Queries on published rulebooks."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.core.rulebook import Rulebook
from gradewright.db.ledger import Revision
from gradewright.rulebooks.models import RulebookRow


@dataclass(frozen=True, slots=True)
class Dated:
    """A published version, the day from which it is in force, and the revision that published it."""

    version: str
    effective_from: date
    revision: int


async def dated(session: AsyncSession) -> list[Dated]:
    """Every published version, in no order."""
    rows = await session.execute(
        select(RulebookRow.version, RulebookRow.effective_from, RulebookRow.revision)
    )
    return [Dated(*row) for row in rows]


async def find(session: AsyncSession, version: str) -> RulebookRow | None:
    """One version's row."""
    return await session.get(RulebookRow, version)


async def add(session: AsyncSession, rulebook: Rulebook, document: str, published: Revision) -> RulebookRow:
    """Keep a version; it can never be changed afterwards."""
    row = RulebookRow(
        version=rulebook.version,
        effective_from=rulebook.effective_from,
        title=rulebook.title,
        summary=rulebook.summary,
        document=document,
        sha256=rulebook.sha256,
        published_at=published.recorded_at,
        revision=published.number,
    )
    session.add(row)
    await session.flush()
    return row
