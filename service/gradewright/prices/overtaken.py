"""Prices in whose place a newer one of the same author stands: of the same yard and grade, for any lot that
would be paid the older."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from datetime import date
from decimal import Decimal

from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.core.holding import MOST_LOOKS
from gradewright.core.sightings import Entry
from gradewright.core.units import parse_mass
from gradewright.prices import repository
from gradewright.prices.counting import NO_LOT
from gradewright.prices.models import EntryRow
from gradewright.prices.repository import MANY_KEYS, Seen

Claim = tuple[str, str, str]
"""A yard, an author and a grade."""


async def overtaken(
    session: AsyncSession,
    entries: Sequence[EntryRow | Seen],
    held: Collection[Entry],
    *,
    since: date,
    until: date,
    revision: int,
) -> set[Entry]:
    """Which of some prices are. Newer ones that are too old on the day `until` (seen before `since`), that
    were taken back or rejected, or that wait, stand in nobody's place."""
    newer: dict[Claim, list[Seen]] = {}
    for row in await _standing(session, entries, held, since, until, revision):
        newer.setdefault((row.yard, row.author, row.grade), []).append(row)
    return {
        (entry.revision, entry.line)
        for entry in entries
        if any(_takes_place(row, entry) for row in newer.get((entry.yard, entry.author, entry.grade), ()))
    }


async def _standing(
    session: AsyncSession,
    entries: Iterable[EntryRow | Seen],
    held: Collection[Entry],
    since: date,
    until: date,
    revision: int,
) -> list[Seen]:
    """What the same authors say of the same yards and grades; for what waits, what they said before."""
    rows: list[Seen] = []
    waiting: set[Entry] = set()
    for _ in range(MOST_LOOKS):
        rows = await repository.newest_prices(
            session,
            {entry.yard for entry in entries},
            since=since,
            until=until,
            revision=revision,
            grades={entry.grade for entry in entries},
            authors={entry.author for entry in entries},
            besides=waiting,
        )
        more = {row[1:3] for row in rows if row[1:3] in held}
        if not more or len(waiting) + len(more) > MANY_KEYS:
            break
        waiting |= more
    return [row for row in rows if row[1:3] not in held]


def _takes_place(row: Seen, entry: EntryRow | Seen) -> bool:
    newer = (row.observed_on, row.revision) > (entry.observed_on, entry.revision)
    return newer and _from(row.from_weight) <= _from(entry.from_weight)


def _from(weight: str | None) -> Decimal:
    return NO_LOT if weight is None else parse_mass(weight).grams
