"""Column types that lose nothing: instants with their zone, decimals with their digits."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from decimal import Decimal
from functools import lru_cache
from typing import Any

from sqlalchemy import DateTime, Dialect, Text
from sqlalchemy.types import TypeDecorator, TypeEngine

_PLAIN = re.compile(r"-?[0-9]+(\.[0-9]+)?", re.ASCII)


class UtcInstant(TypeDecorator[datetime]):
    """An instant: aware in, aware UTC out, to the microsecond.

    PostgreSQL keeps `timestamptz`. SQLite has no such type: it keeps text of one fixed width
    (`2026-05-04T09:12:00.000000Z`), so that sorting as text is sorting in time.
    """

    impl = DateTime(timezone=True)
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        """The column type that this database gets."""
        return dialect.type_descriptor(Text() if dialect.name == "sqlite" else DateTime(timezone=True))

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> Any:
        """Refuses a naive instant: nobody could say which moment it means."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"{value.isoformat()} has no time zone; give an aware datetime")
        instant = value.astimezone(UTC)
        if dialect.name != "sqlite":
            return instant
        return instant.replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """Always aware, always UTC."""
        if value is None:
            return None
        if isinstance(value, str):
            return datetime.fromisoformat(value)
        assert isinstance(value, datetime)  # noqa: S101 - what psycopg gives for timestamptz
        return value.astimezone(UTC)


class ExactDecimal(TypeDecorator[Decimal]):
    """A decimal kept as its digits, trailing zeros included. Never a float on either side."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Decimal | None, dialect: Dialect) -> str | None:
        """Plain digits without an exponent; refuses what is not a finite Decimal."""
        if value is None:
            return None
        if type(value) is not Decimal or not value.is_finite():
            raise ValueError(f"{value!r} is not a finite Decimal")
        return format(value, "f")

    def process_result_value(self, value: str | None, dialect: Dialect) -> Decimal | None:
        """Refuses text that no bind of this type has written, rather than guess at it."""
        return None if value is None else _read(value)


@lru_cache(maxsize=16384)
def _read(text: str) -> Decimal:
    """The decimal. Prices are few, and read again and again."""
    if not _PLAIN.fullmatch(text):
        raise ValueError(f"{text!r} in the database is not a plain decimal")
    return Decimal(text)
