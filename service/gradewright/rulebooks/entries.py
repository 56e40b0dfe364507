"""Rulebooks as entries of the ledger: the version, its day, and the hash that stands for the document."""

from __future__ import annotations

from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.db.entries import Form, Line, in_order
from gradewright.rulebooks.models import RulebookRow

RULEBOOK = Form("rulebook", RulebookRow, ("version", "effective_from", "sha256"))


async def between(session: AsyncSession, after: int, upto: int) -> list[Line]:
    """The versions published after revision `after`, up to `upto`."""
    rows = await RULEBOOK.read(session, after, upto)
    return in_order((revision, 0, values[:1], RULEBOOK.entry(values)) for revision, *values in rows)
