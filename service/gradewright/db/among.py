"""Whether a column's value is one of many: all of them one parameter where there are arrays."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from sqlalchemy import ColumnElement, Text, any_, literal
from sqlalchemy.dialects.postgresql import ARRAY
from sqlalchemy.ext.asyncio import AsyncSession


def among(session: AsyncSession, column: Any, values: Collection[str]) -> ColumnElement[bool]:
    """The condition. A parameter for each of the 2,000 yards of a country takes longer than the query."""
    if session.get_bind().dialect.name == "postgresql":
        found: ColumnElement[bool] = column == any_(literal(list(values), ARRAY(Text)))
        return found
    is_in: ColumnElement[bool] = column.in_(values)
    return is_in
