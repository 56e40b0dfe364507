"""Hauls are worked out one at a time, in a thread of their own.

Each takes up to twenty seconds of a processor: who asks for a hundred of them must not keep others waiting.
"""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

from gradewright.core.errors import GradewrightError

MOST_WAITING = 8
T = TypeVar("T")


class Busy(GradewrightError):
    """As many hauls are waiting as may."""

    slug = "unavailable"


class Stopping(GradewrightError):
    """The service is being stopped."""

    slug = "unavailable"


class Solving:
    """Works hauls out in turn."""

    def __init__(self) -> None:
        self._pool: ThreadPoolExecutor | None = None
        self._waiting = 0
        self._stopping = threading.Event()

    async def of(self, work: Callable[[Callable[[], bool]], T]) -> T:
        """What the work comes to; it is told how to ask whether to stop. Raises `Busy` where too many are
        waiting already, `Stopping` where the service was stopped meanwhile.
        """
        if self._waiting >= MOST_WAITING:
            raise Busy("Other hauls are being worked out. Ask again in a moment.")
        if self._pool is None:
            self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix="hauls")
        self._waiting += 1
        try:
            stopping = self._stopping

            def unless_stopped() -> T:
                try:
                    return work(stopping.is_set)
                finally:  # whatever came of it, or did not
                    if stopping.is_set():
                        raise Stopping("The service is being stopped. Ask again when it is back.")

            return await asyncio.get_running_loop().run_in_executor(self._pool, unless_stopped)
        finally:
            self._waiting -= 1

    def open(self) -> None:
        """The service begins, or begins again."""
        self._stopping = threading.Event()

    def close(self) -> None:
        """Ends what is being worked out; nothing that waits is begun any more."""
        self._stopping.set()
        if self._pool is not None:
            self._pool.shutdown(wait=False, cancel_futures=True)
            self._pool = None
