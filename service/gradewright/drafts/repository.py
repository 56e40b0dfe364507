"""Queries on drafts and their steps."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.ext.asyncio import AsyncSession
from sqlalchemy.orm import defer

from gradewright.db.adding import add_unless_there
from gradewright.drafts.life import Step
from gradewright.drafts.models import DraftRow, StepRow

_LEAN = (defer(StepRow.document), defer(StepRow.text))


async def add_draft(session: AsyncSession, **values: Any) -> int:
    """Adds a draft under the next number; gives the number."""
    while True:
        number = (await session.scalar(select(func.max(DraftRow.number))) or 0) + 1
        # Whoever makes one at the same time may take this number first; then the next is tried.
        if await add_unless_there(session, DraftRow, number=number, **values):
            return number


async def add_step(session: AsyncSession, draft: int, number: int, **values: Any) -> bool:
    """Adds a step of that number; False where somebody has taken one of that number meanwhile."""
    return await add_unless_there(session, StepRow, draft=draft, number=number, **values)


async def find(session: AsyncSession, number: int) -> DraftRow | None:
    """One draft's row."""
    return await session.get(DraftRow, number)


async def steps(session: AsyncSession, draft: int) -> Sequence[StepRow]:
    """All steps of a draft, in order, without their documents."""
    found = select(StepRow).options(*_LEAN).where(StepRow.draft == draft).order_by(StepRow.number)
    return (await session.scalars(found)).all()


async def document_at(session: AsyncSession, draft: int, step: int) -> bytes | None:
    """The document as it was after a step: compressed, as the last step that brought one has kept it."""
    found = (
        select(StepRow.document)
        .where(StepRow.draft == draft, StepRow.number <= step, StepRow.document.is_not(None))
        .order_by(StepRow.number.desc())
        .limit(1)
    )
    document: bytes | None = await session.scalar(found)
    return document


async def text_at(session: AsyncSession, draft: int, step: int) -> bytes | None:
    """The document as it was after a step, as people wrote it: compressed; None where it was not YAML."""
    brought = StepRow.document.is_not(None) | StepRow.text.is_not(None)
    found = (
        select(StepRow.text)
        .where(StepRow.draft == draft, StepRow.number <= step, brought)
        .order_by(StepRow.number.desc())
        .limit(1)
    )
    text: bytes | None = await session.scalar(found)
    return text


async def writers(
    session: AsyncSession, draft: int, upto: int, kinds: Collection[str]
) -> Sequence[tuple[str, int]]:
    """Who took steps of some kinds with a draft, up to a step: author and number, in order."""
    found = (
        select(StepRow.author, StepRow.number)
        .where(StepRow.draft == draft, StepRow.number <= upto, StepRow.step.in_(kinds))
        .order_by(StepRow.number)
    )
    return [(author, number) for author, number in await session.execute(found)]


async def approvals(session: AsyncSession) -> Sequence[tuple[str, int, str]]:
    """Of all approved drafts the version, the number, and who approved it."""
    found = select(StepRow.version, StepRow.draft, StepRow.author).where(StepRow.step == Step.APPROVED)
    return [(str(version), draft, author) for version, draft, author in await session.execute(found)]


async def newest(
    session: AsyncSession, *, last_steps: Collection[str] | None, before: int, limit: int
) -> Sequence[tuple[DraftRow, StepRow, StepRow]]:
    """Drafts numbered below `before`, the newest first, each with its first and its last step.

    `last_steps`: only those whose last step is one of these.
    """
    ends = (
        select(StepRow.draft, func.max(StepRow.number).label("last"))
        .where(StepRow.draft < before)
        .group_by(StepRow.draft)
        .subquery()
    )
    found = (
        select(DraftRow, StepRow)
        .options(*_LEAN)
        .join(ends, ends.c.draft == DraftRow.number)
        .join(StepRow, (StepRow.draft == DraftRow.number) & (StepRow.number == ends.c.last))
        .order_by(DraftRow.number.desc())
        .limit(limit)
    )
    if last_steps is not None:
        found = found.where(StepRow.step.in_(last_steps))
    rows = (await session.execute(found)).all()
    numbers = [draft.number for draft, _ in rows]
    firsts = select(StepRow).options(*_LEAN).where(StepRow.draft.in_(numbers), StepRow.number == 1)
    made = {step.draft: step for step in await session.scalars(firsts)}
    return [(draft, made[draft.number], last) for draft, last in rows]
