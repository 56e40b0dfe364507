"""Queries on published rulebooks."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.models import RulebookRow


async def effective_days(session: AsyncSession) -> dict[str, date]:
    """Every published version and the day from which it is in force."""
    rows = await session.execute(
        select(RulebookRow.version, RulebookRow.effective_from).order_by(RulebookRow.effective_from)
    )
    return {row.version: row.effective_from for row in rows}


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
