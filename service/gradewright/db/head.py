"""The newest revision as a worker knows it: its own writes at once, other workers' by polling."""

from __future__ import annotations

import time
from collections.abc import Callable

from gradewright.db.ledger import newest_revision
from gradewright.db.session import Database


class Head:
    """Asked before every answer; asks the database only when what it knows is older than `poll_seconds`."""

    def __init__(
        self, database: Database, poll_seconds: float, monotonic: Callable[[], float] = time.monotonic
    ) -> None:
        self._database = database
        self._poll_seconds = poll_seconds
        self._monotonic = monotonic
        self._number = 0
        self._asked_at: float | None = None
        database.on_commit(self._hear)

    async def newest(self, at_least: int = 0) -> int:
        """The newest revision known: at most `poll_seconds` old, never older than this worker's writes.

        Where `at_least` is beyond what is known here, the database is asked, however fresh that is.
        """
        now = self._monotonic()
        fresh = self._asked_at is not None and now - self._asked_at < self._poll_seconds
        if not fresh or self._number < at_least:
            async with self._database.read() as session:
                self._hear((await newest_revision(session)).number)
            self._asked_at = now
        return self._number

    def wrote(self, revision: int) -> None:
        """A write of this worker took `revision`. The database tells this by itself once it is committed;
        said inside a write that is still open, it is not believed yet."""
        if not self._database.writing():
            self._hear(revision)

    def _hear(self, revision: int) -> None:
        self._number = max(self._number, revision)
