"""Comparisons are worked out one at a time, in a thread of their own, and kept by the hashes of both.

Each takes up to a minute of a processor: those who ask for a hundred of them must not keep others waiting.
"""

from __future__ import annotations

import asyncio
import threading
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from types import ModuleType
from typing import TYPE_CHECKING

import msgspec

from gradewright.clock import Clock, utc_now
from gradewright.core.errors import GradewrightError
from gradewright.core.rulebook import Rulebook
from gradewright.db.packed import pack, unpack
from gradewright.db.readonly import ReadOnlyDatabase
from gradewright.db.session import Database
from gradewright.rulebooks import repository
from gradewright.rulebooks.source import Document

if TYPE_CHECKING:
    from gradewright.rulebooks.comparison import Comparison

KEPT = 64
MOST_WAITING = 4
Named = tuple[Rulebook, Document]
Tell = Callable[[str, int, int], None]


class Busy(GradewrightError):
    """As many comparisons are waiting as may."""

    slug = "unavailable"


class Stopped(GradewrightError):
    """The service is being stopped."""

    slug = "unavailable"


class Comparing:
    """Hands out comparisons; whoever asks for one that is being worked out waits for that.

    What is found stays in the database, if there is one: `clock` tells when it was kept.
    """

    def __init__(self, database: Database | None = None, clock: Clock = utc_now) -> None:
        self._database, self._clock = database, clock
        self._kept: OrderedDict[tuple[str, str], asyncio.Future[Comparison]] = OrderedDict()
        self._pool: ThreadPoolExecutor | None = None
        self._stopping = threading.Event()

    async def of(self, before: Named, after: Named, tell: Tell | None = None) -> Comparison:
        """The comparison of two versions. Raises `Busy` where too many are waiting already.

        `tell` hears, from another thread, how far it is, where nobody has compared them yet.
        """
        key = before[0].sha256, after[0].sha256
        if key[0] == key[1]:  # nothing to look for, and no reason to wait behind others
            same: Comparison = await asyncio.to_thread(_solving().compare, before, after)
            return same
        if key not in self._kept:
            there = await self._there(key)
            if there is not None:
                return there
        return await self._worked_out(key, before, after, tell)

    async def _worked_out(
        self, key: tuple[str, str], before: Named, after: Named, tell: Tell | None
    ) -> Comparison:
        found = self._kept.get(key)
        if found is None:
            if self.busy >= MOST_WAITING:
                raise Busy("Other comparisons are being worked out. Ask again in a minute.")
            if self._pool is None:
                self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix="comparing")
            work = asyncio.get_running_loop().run_in_executor(
                self._pool, self._compared, before, after, self._stopping, tell
            )
            # Kept whoever still waits for it: who asked may have gone meanwhile.
            found = self._kept[key] = asyncio.ensure_future(self._found(key, work))
        self._kept.move_to_end(key)
        done = [each for each, future in self._kept.items() if future.done()]
        for old in done[: max(0, len(self._kept) - KEPT)]:
            del self._kept[old]
        try:
            return await asyncio.shield(found)
        except Exception:
            self._kept.pop(key, None)
            raise

    async def _found(self, key: tuple[str, str], work: asyncio.Future[Comparison]) -> Comparison:
        comparison = await work
        await self._keep(key, comparison)
        return comparison

    async def _there(self, key: tuple[str, str]) -> Comparison | None:
        """What was found before, by whichever worker."""
        if self._database is None:
            return None
        module = await asyncio.to_thread(_solving)
        async with self._database.read() as session:
            packed = await repository.comparison(session, *key, module.COMPARER)
        if packed is None:
            return None
        return await asyncio.to_thread(msgspec.json.decode, await unpack(packed), type=module.Comparison)

    async def _keep(self, key: tuple[str, str], comparison: Comparison) -> None:
        if self._database is None:
            return
        packed = await pack(await asyncio.to_thread(msgspec.json.encode, comparison))
        with suppress(ReadOnlyDatabase):  # then it is found out again the next time
            async with self._database.write() as session:
                comparer = _solving().COMPARER
                await repository.keep_comparison(session, *key, comparer, found=packed, made_at=self._clock())

    @property
    def busy(self) -> int:
        """How many are being worked out, or wait for that."""
        return sum(not each.done() for each in self._kept.values())

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
    def _compared(before: Named, after: Named, stopping: threading.Event, tell: Tell | None) -> Comparison:
        def go_on(what: str, done: int, of: int) -> None:
            if stopping.is_set():
                raise Stopped("The service is being stopped. Ask again when it is back.")
            if tell is not None:
                tell(what, done, of)

        found: Comparison = _solving().compare(before, after, go_on)
        return found


def _solving() -> ModuleType:
    """What compares: with the solver, which is loaded where it is needed."""
    from gradewright.rulebooks import comparison

    return comparison
