"""Rulebooks as entries of the ledger: the version, its day, and the hash that stands for the document."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping

from sqlalchemy import select
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.db.entries import Form, Line, bare, in_order, plain
from gradewright.rulebooks.models import RulebookRow

RULEBOOK = Form("rulebook", RulebookRow, ("version", "effective_from", "sha256"))


async def between(session: AsyncSession, after: int, upto: int) -> list[Line]:
    """The versions published after revision `after`, up to `upto`."""
    rows = await RULEBOOK.read(session, after, upto)
    return in_order((revision, 0, values[:1], RULEBOOK.entry(values)) for revision, *values in rows)


async def copies(
    session: AsyncSession, after: int, upto: int, recorded: Mapping[int, str]
) -> list[tuple[int, str, str]]:
    """Where a version's document has not the hash that its entry tells, or what is told beside it differs:
    revision, version, what."""
    names = (
        "revision",
        "version",
        "document",
        "sha256",
        "title",
        "summary",
        "effective_from",
        "instead_of",
        "published_at",
    )
    columns = [bare(getattr(RulebookRow, name)) for name in names]
    rows = await session.execute(
        select(*columns).where(RulebookRow.revision > after, RulebookRow.revision <= upto)
    )
    faults = []
    for revision, version, document, sha256, *told in rows:
        if hashlib.sha256(str(document).encode()).hexdigest() != sha256:
            faults.append(
                (revision, str(version), "its document has another SHA-256 than the one kept with it")
            )
            continue
        said = json.loads(document)
        instead_of = ",".join(said.get("instead_of", ())) or None
        wanted = (*map(said.get, names[4:7]), instead_of, recorded.get(revision))
        for name, value, other in zip(names[4:], map(plain, told), wanted, strict=True):
            if value != other:
                faults.append((revision, str(version), f"{name} is {value!r}; it is {other!r}"))
    return faults
