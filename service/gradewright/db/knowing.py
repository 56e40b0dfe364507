"""What `known_at` means: a revision of the ledger, by its number or by an instant."""

from __future__ import annotations

from datetime import datetime

from gradewright.core.errors import Fault, Refused
from gradewright.db.ledger import revision_at
from gradewright.db.session import Database

KnownAt = int | datetime | None
"""A revision, an instant, or None for the newest."""


async def revision_of(database: Database, known_at: KnownAt) -> int:
    """The revision that is meant; `Refused` for one that the ledger has not reached."""
    asked = known_at if isinstance(known_at, int) else 0
    newest = (await database.newest(asked)).number
    if known_at is None:
        return newest
    if isinstance(known_at, datetime):
        async with database.read() as session:
            return await revision_at(session, known_at)
    if known_at > newest:
        detail = f"The ledger has not reached revision {known_at}; the newest is {newest}."
        raise Refused(detail, faults=(Fault(detail, ("known_at",)),))
    return known_at
