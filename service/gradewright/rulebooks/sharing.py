"""Long work in several threads, which goes on by turns: one at a time, so that it takes one processor."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Protocol

TURN_SECONDS = 1.0


class Work(Protocol):
    """Something that takes long; `first`: before all that is not so."""

    first: bool


class Sharing:
    """Whose turn it is. What is first goes before all that is not, at once; of alike each has its turn.

    The threads ask for themselves, at every step: what has to wait stays as it is until its next turn.
    """

    def __init__(self, turn_seconds: float = TURN_SECONDS) -> None:
        self._changed = threading.Condition()
        self._waiting: list[Work] = []  # who has had a turn goes to the end
        self._on: Work | None = None
        self._since, self._turn_seconds = 0.0, turn_seconds
        self._stopped = False

    @contextmanager
    def with_(self, work: Work) -> Iterator[None]:
        """Lets some work take part, in its own thread. Its first turn is where it first asks to go on."""
        with self._changed:
            self._waiting.append(work)
        try:
            yield
        finally:
            with self._changed:
                self._waiting.remove(work)
                if self._on is work:
                    self._on = None
                self._changed.notify_all()

    def go_on(self, work: Work, waits: Callable[[], None]) -> bool:
        """Comes back when it is the turn of some work; False where all of it is to end. `waits` is called
        before it has to wait."""
        with self._changed:
            if self._on is work and self._over(work):
                self._waiting.remove(work)
                self._waiting.append(work)
                self._on = None
            told = False
            while not self._stopped:
                if self._on is None:
                    self._on = min(self._waiting, key=lambda each: not each.first)  # of alike the earliest
                    self._since = time.monotonic()
                    self._changed.notify_all()
                if self._on is work:
                    return True
                if not told:
                    waits()
                    told = True
                self._changed.wait()
        return False

    def stop(self) -> None:
        """Ends all of it, each at its next step."""
        with self._changed:
            self._stopped = True
            self._changed.notify_all()

    def _over(self, work: Work) -> bool:
        """Whether the turn of some work is over: another waits that goes before it, or for long enough."""
        others = [each.first for each in self._waiting if each is not work]
        if work.first:
            others = [first for first in others if first]
        elif any(others):
            return True
        return bool(others) and time.monotonic() - self._since >= self._turn_seconds
