"""The newest revision as a worker knows it: its own writes at once, other workers' within the polling time."""

from __future__ import annotations

import time
from collections.abc import Callable

from gradewright.db.ledger import newest_revision
from gradewright.db.session import Database


class Head:
    """Asked before every answer; asks the database only when its own knowledge is older than `poll_seconds`."""

    def __init__(
        self, database: Database, poll_seconds: float, monotonic: Callable[[], float] = time.monotonic
    ) -> None:
        self._database = database
        self._poll_seconds = poll_seconds
        self._monotonic = monotonic
        self._number = 0
        self._asked_at: float | None = None

    async def newest(self) -> int:
        """The newest revision known; at most `poll_seconds` old, and never older than this worker's writes."""
        now = self._monotonic()
        if self._asked_at is None or now - self._asked_at >= self._poll_seconds:
            self._asked_at = now
            async with self._database.read() as session:
                self.wrote((await newest_revision(session)).number)
        return self._number

    def wrote(self, revision: int) -> None:
        """A write of this worker has been committed as `revision`."""
        self._number = max(self._number, revision)
