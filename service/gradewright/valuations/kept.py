"""Kept valuations as they were asked for, to be looked at again by the thousand."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import and_, func, or_, select
from sqlalchemy.sql.elements import ColumnElement

from gradewright.db.session import Database
from gradewright.valuations.models import ValuationRow
from gradewright.valuations.parts import PartGiven

AT_ONCE = 200


@dataclass(frozen=True, slots=True)
class KeptRequest:
    """What was asked for: the parts as given, where, and for which day."""

    id: str
    region: str | None
    yard: str | None
    on: date
    parts: tuple[PartGiven, ...]


class KeptRequests:
    """Reads what was asked for, by when it was kept."""

    def __init__(self, database: Database) -> None:
        self._database = database

    async def count(self, since: datetime, until: datetime) -> int:
        """How many were kept from one instant to before another."""
        async with self._database.read() as session:
            asked = select(func.count()).select_from(ValuationRow).where(*_between(since, until))
            return await session.scalar(asked) or 0

    async def between(self, since: datetime, until: datetime) -> AsyncIterator[list[KeptRequest]]:
        """All of them, some hundreds at a time, in the order in which they were kept."""
        row = ValuationRow
        last: tuple[datetime, str] = since, ""
        while True:
            at, name = last
            later = or_(row.created_at > at, and_(row.created_at == at, row.id > name))
            asked = select(row.created_at, row.id, row.request).where(row.created_at < until, later)
            async with self._database.read() as session:
                found = await session.execute(asked.order_by(row.created_at, row.id).limit(AT_ONCE))
                rows = [(kept_at, name, request) for kept_at, name, request in found]
            if not rows:
                return
            yield [_request(name, text) for _, name, text in rows]
            last = rows[-1][:2]


def _between(since: datetime, until: datetime) -> tuple[ColumnElement[bool], ColumnElement[bool]]:
    return ValuationRow.created_at >= since, ValuationRow.created_at < until


def _request(name: str, text: str) -> KeptRequest:
    asked = json.loads(text)
    parts = tuple(PartGiven(**part) for part in asked["parts"])
    return KeptRequest(name, asked["region"], asked["yard"], date.fromisoformat(asked["on"]), parts)
