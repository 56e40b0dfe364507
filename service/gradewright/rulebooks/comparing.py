"""Comparisons are worked out one at a time, in a thread of their own, and remembered by the hashes.

Each takes up to a minute of a processor: those who ask for a hundred of them must not keep others waiting.
"""

from __future__ import annotations

import asyncio
import threading
from collections import OrderedDict
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING

from gradewright.core.errors import GradewrightError
from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.source import Document

if TYPE_CHECKING:
    from gradewright.rulebooks.comparison import Comparison

KEPT = 64
MOST_WAITING = 4
Named = tuple[Rulebook, Document]


class Busy(GradewrightError):
    """As many comparisons are waiting as may."""

    slug = "unavailable"


class Stopped(GradewrightError):
    """The service is being stopped."""

    slug = "unavailable"


class Comparing:
    """Hands out comparisons; whoever asks for one that is being worked out waits for that."""

    def __init__(self) -> None:
        self._kept: OrderedDict[tuple[str, str], asyncio.Future[Comparison]] = OrderedDict()
        self._pool: ThreadPoolExecutor | None = None
        self._stopping = threading.Event()

    async def of(self, before: Named, after: Named) -> Comparison:
        """The comparison of two versions. Raises `Busy` where too many are waiting already."""
        key = before[0].sha256, after[0].sha256
        found = self._kept.get(key)
        if found is None:
            if sum(not each.done() for each in self._kept.values()) >= MOST_WAITING:
                raise Busy("Other comparisons are being worked out. Ask again in a minute.")
            if self._pool is None:
                self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix="comparing")
            loop = asyncio.get_running_loop()
            found = self._kept[key] = loop.run_in_executor(
                self._pool, self._compared, before, after, self._stopping
            )
        self._kept.move_to_end(key)
        done = [each for each, future in self._kept.items() if future.done()]
        for old in done[: max(0, len(self._kept) - KEPT)]:
            del self._kept[old]
        try:
            return await asyncio.shield(found)
        except Exception:
            self._kept.pop(key, None)
            raise

    def open(self) -> None:
        """The service begins, or begins again."""
        self._stopping = threading.Event()

    def close(self) -> None:
        """Ends what is being worked out, as soon as it comes to its next step; what is known stays."""
        self._stopping.set()
        for key in [key for key, found in self._kept.items() if not found.done()]:
            del self._kept[key]
        if self._pool is not None:
            self._pool.shutdown(wait=False, cancel_futures=True)
            self._pool = None

    @staticmethod
    def _compared(before: Named, after: Named, stopping: threading.Event) -> Comparison:
        from gradewright.rulebooks.comparison import compare  # the solver: loaded where it is needed

        def go_on(what: str, done: int, of: int) -> None:
            if stopping.is_set():
                raise Stopped("The service is being stopped. Ask again when it is back.")

        return compare(before, after, go_on)
