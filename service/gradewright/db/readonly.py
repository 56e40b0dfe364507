"""Databases that can be read and not written: a file without the right to write, a server on standby."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError

from gradewright.core.errors import GradewrightError
from gradewright.logs import cause

# PostgreSQL: a read-only transaction (a standby's all are), or a role that may only read.
_SQLSTATES = frozenset({"25006", "42501"})


class ReadOnlyDatabase(GradewrightError):
    """Something was to be written to a database that only takes reads."""

    slug = "unavailable"


def is_refusal(error: BaseException | None) -> bool:
    """Whether the driver says that the database cannot be written."""
    if isinstance(error, sqlite3.Error):
        # The low byte is the kind; the rest tells whether it is the file, its folder or the log beside it.
        return getattr(error, "sqlite_errorcode", 0) & 0xFF == sqlite3.SQLITE_READONLY
    return getattr(error, "sqlstate", None) in _SQLSTATES


@contextmanager
def refusing_writes() -> Iterator[None]:
    """Around a write: raises `ReadOnlyDatabase` where the database takes none."""
    try:
        yield
    except DBAPIError as error:
        if not is_refusal(error.orig):
            raise
        raise ReadOnlyDatabase(
            f"The database cannot be written ({cause(error)}): it answers reads only. Nothing was stored. "
            "Whoever runs it can allow writing, or name another in GRADEWRIGHT_DATABASE_URL."
        ) from error
