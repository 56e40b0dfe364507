"""Queries on published rulebooks."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.models import RulebookRow


@dataclass(frozen=True, slots=True)
class Dated:
    """A published version and the day from which it is in force."""

    version: str
    effective_from: date


async def dated(session: AsyncSession) -> list[Dated]:
    """Every published version, in no order."""
    rows = await session.execute(select(RulebookRow.version, RulebookRow.effective_from))
    return [Dated(version, day) for version, day in rows]


async def find(session: AsyncSession, version: str) -> RulebookRow | None:
    """One version's row."""
    return await session.get(RulebookRow, version)


async def add(session: AsyncSession, rulebook: Rulebook, document: str, published_at: datetime) -> None:
    """Keep a version; it can never be changed afterwards."""
    session.add(
        RulebookRow(
            version=rulebook.version,
            effective_from=rulebook.effective_from,
            title=rulebook.title,
            summary=rulebook.summary,
            document=document,
            sha256=rulebook.sha256,
            published_at=published_at,
        )
    )
    await session.flush()
