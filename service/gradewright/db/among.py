"""Many values given to a statement as one parameter, where the database can."""

from __future__ import annotations

import json
from collections.abc import Collection
from typing import Any

from sqlalchemy import ColumnElement, TableValuedAlias, Text, any_, func, literal
from sqlalchemy.dialects.postgresql import ARRAY
from sqlalchemy.ext.asyncio import AsyncSession

BETWEEN = "\x1f"


def among(session: AsyncSession, column: Any, values: Collection[str]) -> ColumnElement[bool]:
    """Whether a column's value is one of them.

    A parameter for each of the 2,000 yards of a country takes longer than the query.
    """
    if session.get_bind().dialect.name == "postgresql":
        found: ColumnElement[bool] = column == any_(_array(values))
        return found
    is_in: ColumnElement[bool] = column.in_(values)
    return is_in


def each_of(session: AsyncSession, values: Collection[str]) -> TableValuedAlias:
    """The values as the rows of a table with one column, `value`."""
    if session.get_bind().dialect.name == "postgresql":
        return func.unnest(_array(values)).table_valued("value").render_derived()
    return func.json_each(json.dumps(list(values))).table_valued("value")


def _array(values: Collection[str]) -> Any:
    """As one text that the database takes apart, where none of them has what stands between them: writing an
    array of thousands takes as long as reading what it asks for.
    """
    text = BETWEEN.join(values)
    if text and text.count(BETWEEN) == len(values) - 1:
        return func.string_to_array(text, BETWEEN, type_=ARRAY(Text))
    return literal(list(values), ARRAY(Text))
