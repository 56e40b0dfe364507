"""What both clients make of following the ledger: they carry out the steps of `_following`."""

from __future__ import annotations

from collections.abc import AsyncGenerator, AsyncIterator, Awaitable, Callable, Generator, Iterator
from typing import TYPE_CHECKING, Any, Concatenate, ParamSpec, Protocol, TypeVar, cast

from . import _exceptions as ex
from ._base import AsyncResource, Call, Resource, _dress
from ._following import Deliver, Following, Listen, Outcome, Read, ids
from ._retry import Retry, Wait

if TYPE_CHECKING:
    from ._models import LedgerEntry

T = TypeVar("T")
P = ParamSpec("P")
SILENCE = 45.0  # seconds; the service breaks its own after 15


class Listener(Protocol):
    """What following needs of the sync client."""

    @property
    def retry(self) -> Retry: ...
    def send(self, call: Call[T], /) -> T: ...
    def lines(self, call: Call[None], silence: float, /) -> Generator[str, None, None]: ...
    def pause(self, seconds: float, /) -> None: ...


class AsyncListener(Protocol):
    """What following needs of the async client."""

    @property
    def retry(self) -> Retry: ...
    def send(self, call: Call[T], /) -> Awaitable[T]: ...
    def lines(self, call: Call[None], silence: float, /) -> AsyncGenerator[str, None]: ...
    def pause(self, seconds: float, /) -> Awaitable[None]: ...


def sync_follow(
    describe: Callable[P, Following[LedgerEntry]],
) -> Callable[Concatenate[Resource, P], Iterator[LedgerEntry]]:
    """What is described to be followed, as a method of the sync client."""

    def method(self: Resource, /, *args: P.args, **kwargs: P.kwargs) -> Iterator[LedgerEntry]:
        return _follow(cast("Listener", self._client), describe(*args, **kwargs))

    return _dress(method, describe, "Iterator[{}]")


def asynchronous_follow(
    describe: Callable[P, Following[LedgerEntry]],
) -> Callable[Concatenate[AsyncResource, P], AsyncIterator[LedgerEntry]]:
    """What is described to be followed, as a method of the async client."""

    def method(self: AsyncResource, /, *args: P.args, **kwargs: P.kwargs) -> AsyncIterator[LedgerEntry]:
        return _follow_async(cast("AsyncListener", self._client), describe(*args, **kwargs))

    return _dress(method, describe, "AsyncIterator[{}]")


def _follow(client: Listener, following: Following[Any]) -> Iterator[LedgerEntry]:
    stream: Generator[str, None, None] | None = None
    steps = following.steps(client.retry)
    try:
        step = next(steps)
        while True:
            outcome: Outcome = None
            try:
                match step:
                    case Read(call):
                        outcome = client.send(call)
                    case Wait(seconds):
                        client.pause(seconds)
                    case Listen(events):
                        stream = stream or client.lines(events, SILENCE)
                        outcome = _next_id(stream)
            except ex.GradewrightError as error:
                outcome = error
            if isinstance(step, Deliver):
                yield from step.entries
            elif isinstance(step, Listen) and not isinstance(outcome, int):
                stream = None
            step = steps.send(outcome)
    finally:
        if stream is not None:
            stream.close()


async def _follow_async(client: AsyncListener, following: Following[Any]) -> AsyncIterator[LedgerEntry]:
    stream: AsyncGenerator[str, None] | None = None
    steps = following.steps(client.retry)
    try:
        step = next(steps)
        while True:
            outcome: Outcome = None
            try:
                match step:
                    case Read(call):
                        outcome = await client.send(call)
                    case Wait(seconds):
                        await client.pause(seconds)
                    case Listen(events):
                        stream = stream or client.lines(events, SILENCE)
                        outcome = await _next_id_async(stream)
            except ex.GradewrightError as error:
                outcome = error
            if isinstance(step, Deliver):
                for entry in step.entries:
                    yield entry
            elif isinstance(step, Listen) and not isinstance(outcome, int):
                stream = None
            step = steps.send(outcome)
    finally:
        if stream is not None:
            await stream.aclose()


def _next_id(stream: Generator[str, None, None]) -> int | None:
    """The next id on the stream, which stays open; None where it ends."""
    for line in stream:
        if (found := ids(line)) is not None:
            return found
    return None


async def _next_id_async(stream: AsyncGenerator[str, None]) -> int | None:
    async for line in stream:
        if (found := ids(line)) is not None:
            return found
    return None
