"""Hauls are worked out one at a time, in a thread of their own.

Each takes up to twenty seconds of a processor: who asks for a hundred of them must not keep others waiting.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

from gradewright.core.errors import GradewrightError

MOST_WAITING = 8
T = TypeVar("T")


class Busy(GradewrightError):
    """As many hauls are waiting as may."""

    slug = "unavailable"


class Solving:
    """Works hauls out in turn."""

    def __init__(self) -> None:
        self._pool: ThreadPoolExecutor | None = None
        self._waiting = 0

    async def of(self, work: Callable[[], T]) -> T:
        """What the work comes to. Raises `Busy` where too many are waiting already."""
        if self._waiting >= MOST_WAITING:
            raise Busy("Other hauls are being worked out. Ask again in a moment.")
        if self._pool is None:
            self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix="hauls")
        self._waiting += 1
        try:
            return await asyncio.get_running_loop().run_in_executor(self._pool, work)
        finally:
            self._waiting -= 1

    def close(self) -> None:
        """Nothing that waits is begun any more."""
        if self._pool is not None:
            self._pool.shutdown(wait=False, cancel_futures=True)
            self._pool = None
