"""Who listens to the ledger: one look at the newest revision serves all, each reads at its own pace."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncGenerator
from contextlib import suppress
from dataclasses import dataclass

import structlog

from gradewright.core.errors import GradewrightError
from gradewright.ledger.feed import Feed, Recorded
from gradewright.logs import cause

log = structlog.get_logger("gradewright.events")
MOST_LISTENERS = 1_000
"""Of one worker: each holds a connection of the server, though none to the database."""
AT_ONCE = 500
LEAST_POLL_SECONDS = 0.02


class TooManyListeners(GradewrightError):
    """A worker takes only so many who listen at the same time."""

    slug = "unavailable"


@dataclass(frozen=True, slots=True)
class Beat:
    """Nothing has happened for a while, and the listener is still heard."""


class Events:
    """Tells listeners of revisions. While there is none, nothing is polled."""

    def __init__(self, feed: Feed, poll_seconds: float) -> None:
        """`beat_seconds`: the longest silence. `longest_seconds`: a stream ends by itself after that, so that
        listeners spread over workers again; they come back with what they heard last."""
        self.beat_seconds = 15.0
        self.longest_seconds = 3600.0
        self._feed = feed
        self._poll_seconds = max(poll_seconds, LEAST_POLL_SECONDS)
        self._listeners = 0
        self._poller: asyncio.Task[None] | None = None
        self._newest = 0
        self._moved = asyncio.Event()
        self._over = asyncio.Event()  # for the poller: nobody listens any more
        self._closed = False

    @property
    def listeners(self) -> int:
        """How many listen just now."""
        return self._listeners

    @property
    def polling(self) -> bool:
        """Whether the ledger is looked at for them."""
        return self._poller is not None and not self._poller.done()

    def admit(self) -> None:
        """Raises `TooManyListeners` where there is no room for one more, or the service is ending."""
        if self._closed:
            raise TooManyListeners("This worker is ending. Come back in a moment.")
        if self._listeners >= MOST_LISTENERS:
            raise TooManyListeners(
                f"{MOST_LISTENERS} listen to this worker already. Come back later, or poll "
                "/v1/ledger/entries instead."
            )

    async def listen(self, after: int) -> AsyncGenerator[list[Recorded] | Beat]:
        """The revisions after one, those that are there and those to come, in order and without a gap.

        Ends when the service does, after `longest_seconds`, and when the ledger cannot be looked at.
        """
        ends = asyncio.get_running_loop().time() + self.longest_seconds
        self._enter()
        try:
            while not self._closed:
                if after < self._newest:
                    upto = min(self._newest, after + AT_ONCE)
                    found = await self._feed.recorded(after, upto)
                    after = upto
                    yield found
                    continue
                left = ends - asyncio.get_running_loop().time()
                if left <= 0 or not self.polling:
                    return
                try:
                    async with asyncio.timeout(min(left, self.beat_seconds)):
                        await self._moved.wait()
                except TimeoutError:
                    if self.beat_seconds <= left:
                        yield Beat()
        finally:
            self._leave()

    def open(self) -> None:
        """Admits listeners, after the application was ended too."""
        self._closed = False

    def close(self) -> None:
        """Ends every stream; nobody is admitted any more."""
        self._closed = True
        self._over.set()
        self._wake()

    async def closed(self) -> None:
        """Ends every stream, and waits until nothing is asked of the database for them."""
        self.close()
        if self._poller is not None:
            await asyncio.wait([self._poller])

    def _enter(self) -> None:
        self._listeners += 1
        if self._listeners == 1 or not self.polling:
            self._over, self._moved = asyncio.Event(), asyncio.Event()
            self._poller = asyncio.create_task(self._poll(self._over))
            self._poller.add_done_callback(self._polled)

    def _leave(self) -> None:
        self._listeners -= 1
        if not self._listeners:
            self._over.set()

    def _polled(self, poller: asyncio.Task[None]) -> None:
        """A poller has ended: by a fault of the database too, which those who listen then hear of when they
        come back."""
        if not poller.cancelled() and (error := poller.exception()) is not None:
            log.error("unavailable", cause=cause(error))
        self._wake()

    def _wake(self) -> None:
        """Wakes those who wait; whoever comes later waits for the next time."""
        moved, self._moved = self._moved, asyncio.Event()
        moved.set()

    async def _poll(self, over: asyncio.Event) -> None:
        while not over.is_set():
            newest = await self._feed.newest()
            if newest > self._newest:
                self._newest = newest
                self._wake()
            with suppress(TimeoutError):
                async with asyncio.timeout(self._poll_seconds):
                    await over.wait()
