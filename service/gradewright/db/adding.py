"""Adding a row where none is: what both kinds of database can say in one statement."""

from __future__ import annotations

from typing import Any

from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.db.base import Base


async def add_unless_there(session: AsyncSession, row: type[Base], **values: Any) -> bool:
    """Adds a row, or leaves the one that has its key already; whether it was added.

    Where another transaction is adding the same key, this waits until that one has ended.
    """
    insert = postgresql.insert if session.get_bind().dialect.name == "postgresql" else sqlite.insert
    key = next(iter(row.__table__.primary_key))
    added = await session.execute(insert(row).values(**values).on_conflict_do_nothing().returning(key))
    return added.one_or_none() is not None
