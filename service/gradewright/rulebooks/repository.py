"""Queries on published rulebooks, and on what was found of documents."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import select
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.core.rulebook import Rulebook
from gradewright.db.adding import add_unless_there
from gradewright.db.ledger import Revision
from gradewright.rulebooks.models import ComparisonRow, ProofRow, RulebookRow


@dataclass(frozen=True, slots=True)
class Dated:
    """A published version, the day from which it is in force, and the revision that published it.

    `instead_of`: those that it names as never in force.
    """

    version: str
    effective_from: date
    revision: int
    instead_of: tuple[str, ...] = ()


async def dated(session: AsyncSession) -> list[Dated]:
    """Every published version, in no order."""
    rows = await session.execute(
        select(RulebookRow.version, RulebookRow.effective_from, RulebookRow.revision, RulebookRow.instead_of)
    )
    return [
        Dated(version, begins, revision, tuple(names.split(",")) if names else ())
        for version, begins, revision, names in rows
    ]


async def find(session: AsyncSession, version: str) -> RulebookRow | None:
    """One version's row."""
    return await session.get(RulebookRow, version)


async def add(session: AsyncSession, rulebook: Rulebook, document: str, published: Revision) -> RulebookRow:
    """Keep a version; it can never be changed afterwards."""
    row = RulebookRow(
        version=rulebook.version,
        effective_from=rulebook.effective_from,
        instead_of=",".join(rulebook.instead_of) or None,
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


async def proof(session: AsyncSession, sha256: str, asked: str) -> bytes | None:
    """What was found of a document, compressed; None where it was not looked for."""
    found: bytes | None = await session.scalar(
        select(ProofRow.found).where(ProofRow.sha256 == sha256, ProofRow.asked == asked)
    )
    return found


async def keep_proof(session: AsyncSession, sha256: str, asked: str, **values: Any) -> None:
    """Keeps what was found; what another has kept meanwhile stays."""
    if await proof(session, sha256, asked) is None:
        await add_unless_there(session, ProofRow, sha256=sha256, asked=asked, **values)


async def comparison(session: AsyncSession, before: str, after: str, comparer: str) -> bytes | None:
    """What was found between two documents, compressed; None where it was not looked for."""
    key = ComparisonRow.before == before, ComparisonRow.after == after, ComparisonRow.comparer == comparer
    found: bytes | None = await session.scalar(select(ComparisonRow.found).where(*key))
    return found


async def keep_comparison(
    session: AsyncSession, before: str, after: str, comparer: str, **values: Any
) -> None:
    """Keeps what was found; what another has kept meanwhile stays."""
    if await comparison(session, before, after, comparer) is None:
        key = {"before": before, "after": after, "comparer": comparer}
        await add_unless_there(session, ComparisonRow, **key, **values)
