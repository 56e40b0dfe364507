"""Work that is done one at a time: for whom it is done first, and how many of the others may wait for it."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager, contextmanager
from typing import Protocol


class InTurn(Protocol):
    """Something to be done; `first`: before all that is not so."""

    first: bool


class Turns:
    """One at a time. What is to be done first is, and while somebody asks for such, nothing else begins."""

    def __init__(self) -> None:
        self._waiting: list[tuple[InTurn, asyncio.Future[None]]] = []
        self._taken, self._asking = False, 0

    @contextmanager
    def asking(self) -> Iterator[None]:
        """While one asks whose work is first: also between two things that are done for them."""
        self._asking += 1
        try:
            yield
        finally:
            self._asking -= 1
            self.go_on()

    @asynccontextmanager
    async def of(self, work: InTurn) -> AsyncIterator[None]:
        """The turn of some work."""
        turn: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        self._waiting.append((work, turn))
        self.go_on()
        try:
            await turn
            yield
        finally:
            if not turn.cancelled():  # else it never came
                self._taken = False
            self.go_on()

    def go_on(self) -> None:
        """Whose turn it is now, where nothing is being done."""
        self._waiting = [each for each in self._waiting if not each[1].done()]
        if self._taken:
            return
        able = [each for each in self._waiting if each[0].first or not self._asking]
        if able:
            self._taken = True
            min(able, key=lambda each: not each[0].first)[1].set_result(None)  # of alike the earliest


class Few:
    """Those who may wait: so many names at a time, however many wait for each."""

    def __init__(self) -> None:
        self.waiting: dict[str, int] = {}

    def add(self, name: str) -> None:
        """One more waits."""
        self.waiting[name] = self.waiting.get(name, 0) + 1

    def take(self, name: str) -> None:
        """One waits no more."""
        self.waiting[name] -= 1
        if not self.waiting[name]:
            del self.waiting[name]
