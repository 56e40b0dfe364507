"""Comparisons are worked out aside, and kept by the hashes of both.

Most take seconds of a processor, those of far versions minutes. They go on by turns, so that they take one
together and a short one does not wait for the end of a long one. Maintainers' go before all others, which are
few and have so many seconds: nobody without a key can keep the rest waiting.
"""

from __future__ import annotations

import asyncio
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, field
from types import ModuleType
from typing import TYPE_CHECKING

import msgspec

from gradewright.clock import Clock, utc_now
from gradewright.collector import gives_back
from gradewright.core.errors import GradewrightError, NotAllowed
from gradewright.core.rulebook import Rulebook
from gradewright.db.packed import pack, unpack
from gradewright.db.readonly import ReadOnlyDatabase
from gradewright.db.session import Database
from gradewright.rulebooks import repository
from gradewright.rulebooks.sharing import Sharing
from gradewright.rulebooks.source import Document

if TYPE_CHECKING:
    from gradewright.rulebooks.comparison import Comparison

KEPT = 64
MOST_WAITING = 4
"""Of those that nobody waits for who comes first; so many more are worked out for those who do."""
MOST_SECONDS = 600.0
"""Of a processor, for a comparison that nobody waits for who comes first: any two versions that ship take
less, and what is found is kept, so that it is spent once."""
FEW_SECONDS = 20.0
"""Of a processor, after which one of those makes room where as many are there as may, and another comes."""
LONG_FOR = 3600.0
"""Seconds in which nobody else may try one that has taken longer than that."""
_STOPPED = "The service is being stopped. Ask again when it is back."
WAITS = "another comparison, whose turn it is"
"""What is told to be worked on while somebody else's is."""
Named = tuple[Rulebook, Document]
Tell = Callable[[str, int, int], None]


class Busy(GradewrightError):
    """As many comparisons are waiting as may."""

    slug = "unavailable"


class Stopped(GradewrightError):
    """The service is being stopped."""

    slug = "unavailable"


class TooLong(NotAllowed):
    """A comparison takes longer than it may for who asks."""


@dataclass(slots=True, eq=False)
class _Work:
    """A comparison that is being worked out, and all who hear how far it is. `first`: one waits for it who
    comes before the others. `used`: seconds of a processor so far. `makes_room`: it is to end.
    """

    before: Named
    after: Named
    first: bool
    listeners: list[Tell] = field(default_factory=list)
    used: float = 0.0
    makes_room: bool = False

    def tell(self, what: str, done: int, of: int) -> None:
        for tell in tuple(self.listeners):
            tell(what, done, of)

    def may_go_on(self) -> None:
        """Raises `TooLong`, or `Busy` where it has to make room: not for one who comes first."""
        if self.first:
            return
        if self.used > MOST_SECONDS:
            raise self.too_long()
        if self.makes_room:
            raise Busy(
                f"Others wait for comparisons, and this one had taken more than {FEW_SECONDS:.0f} seconds of "
                "a processor: it was ended to make room. Ask again later, or have a maintainer ask with "
                "their key."
            )

    def too_long(self) -> TooLong:
        old, new = self.before[0].version, self.after[0].version
        return TooLong(
            f"To compare {old} and {new} takes longer than {MOST_SECONDS:.0f} seconds of a processor, which "
            "others need as well: it was ended. Have a maintainer ask with their key, or whoever runs the "
            f"service with: gradewright rulebooks compare {old} {new}. What they find is kept for everybody."
        )


class Comparing:
    """Hands out comparisons; whoever asks for one that is being worked out waits for that.

    What is found stays in the database, if there is one: `clock` tells when it was kept.
    """

    def __init__(self, database: Database | None = None, clock: Clock = utc_now) -> None:
        self._database, self._clock = database, clock
        self._kept: OrderedDict[tuple[str, str], asyncio.Future[Comparison]] = OrderedDict()
        self._works: dict[tuple[str, str], _Work] = {}
        self._long: dict[tuple[str, str], float] = {}
        self._pool: ThreadPoolExecutor | None = None
        self._stopping, self._sharing = threading.Event(), Sharing()

    async def of(
        self, before: Named, after: Named, tell: Tell | None = None, *, first: bool = False
    ) -> Comparison:
        """The comparison of two versions; what is kept is there at once.

        `tell` hears, from another thread, how far it is, where nobody has compared them yet. `first`: for one
        who comes before all others, for as long as it takes. Others: raises `Busy` where too many are
        waiting, and `TooLong` where it takes more than `MOST_SECONDS`.
        """
        key = before[0].sha256, after[0].sha256
        if key[0] == key[1]:  # nothing to look for, and no reason to wait behind others
            same: Comparison = await asyncio.to_thread(_solving().compare, before, after)
            return same
        if key not in self._kept:
            there = await self._there(key)
            if there is not None:
                return there
        return await self._worked_out(key, _Work(before, after, first), tell)

    async def _worked_out(self, key: tuple[str, str], new: _Work, tell: Tell | None) -> Comparison:
        found = self._kept.get(key)
        if found is None:
            self._may_begin(key, new)
            self._works[key] = new
            # Kept whoever still waits for it: who asked may have gone meanwhile.
            found = self._kept[key] = asyncio.ensure_future(self._found(key, self._begun(new)))
            found.add_done_callback(lambda ended: self._ended(key, new, ended))
        self._kept.move_to_end(key)
        if (work := self._works.get(key)) is not None:
            if tell is not None:
                work.listeners.append(tell)
            work.first = work.first or new.first
        done = [each for each, future in self._kept.items() if future.done()]
        for old in done[: max(0, len(self._kept) - KEPT)]:
            del self._kept[old]
        return await asyncio.shield(found)

    def _may_begin(self, key: tuple[str, str], new: _Work) -> None:
        """Raises `TooLong` or `Busy` where one who does not come first cannot have it worked out now."""
        if new.first:
            return
        if time.monotonic() - self._long.get(key, -LONG_FOR) < LONG_FOR:
            raise new.too_long()
        others = [each for each in self._works.values() if not each.first and not each.makes_room]
        if len(others) < MOST_WAITING:
            return
        longest = max(others, key=lambda each: each.used, default=None)
        if longest is None or longest.used <= FEW_SECONDS:
            raise Busy("Other comparisons are being worked out. Ask again in a minute.")
        longest.makes_room = True

    def _begun(self, work: _Work) -> asyncio.Future[Comparison]:
        if self._pool is None:
            # However many others wait, or are to end, there are threads left for those who come first.
            self._pool = ThreadPoolExecutor(max_workers=3 * MOST_WAITING, thread_name_prefix="comparing")
        loop = asyncio.get_running_loop()
        return loop.run_in_executor(
            self._pool, gives_back()(self._by_turns), work, self._stopping, self._sharing
        )

    def _ended(self, key: tuple[str, str], work: _Work, found: asyncio.Future[Comparison]) -> None:
        if self._works.get(key) is work:
            del self._works[key]
        if found.cancelled() or (error := found.exception()) is not None:
            if self._kept.get(key) is found:
                del self._kept[key]
            if not found.cancelled() and isinstance(error, TooLong):
                self._long = {each: at for each, at in self._long.items() if time.monotonic() - at < LONG_FOR}
                self._long[key] = time.monotonic()

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

    def open(self) -> None:
        """The service begins, or begins again."""
        self._stopping, self._sharing = threading.Event(), Sharing()

    def close(self) -> None:
        """Ends what is being worked out, as soon as it comes to its next step; what is known stays."""
        self._stopping.set()
        self._sharing.stop()
        for key in [key for key, found in self._kept.items() if not found.done()]:
            del self._kept[key]
        self._works.clear()
        if self._pool is not None:
            self._pool.shutdown(wait=False, cancel_futures=True)
            self._pool = None

    def _by_turns(self, work: _Work, stopping: threading.Event, sharing: Sharing) -> Comparison:
        """Works one out, in a thread of its own that waits for its turns."""
        from gradewright.rulebooks.solving import BETWEEN

        began = time.thread_time()

        def between() -> None:
            if not sharing.go_on(work, lambda: work.tell(WAITS, 0, 0)):
                raise Stopped(_STOPPED)
            work.used = time.thread_time() - began
            work.may_go_on()

        with sharing.with_(work):
            token = BETWEEN.set(between)
            try:
                between()
                return self._compared(work.before, work.after, stopping, work.tell)
            finally:
                BETWEEN.reset(token)

    @staticmethod
    def _compared(before: Named, after: Named, stopping: threading.Event, tell: Tell | None) -> Comparison:
        def go_on(what: str, done: int, of: int) -> None:
            if stopping.is_set():
                raise Stopped(_STOPPED)
            if tell is not None:
                tell(what, done, of)

        found: Comparison = _solving().compare(before, after, go_on)
        return found


def _solving() -> ModuleType:
    """What compares: with the solver, which is loaded where it is needed."""
    from gradewright.rulebooks import comparison

    return comparison
