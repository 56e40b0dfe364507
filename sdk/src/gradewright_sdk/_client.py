"""The two clients. They only carry out what `_retry.converse` asks for; everything else is shared."""

from __future__ import annotations

import os
import time
import uuid
from collections.abc import AsyncGenerator, Awaitable, Callable, Generator
from types import TracebackType
from typing import NoReturn, Self, TypeVar
from urllib.parse import urlencode

import httpx

from . import _problems, _retry, _wire
from ._base import Answer, Call
from ._deadline import Watch, timeouts
from ._exceptions import ConnectionFailed, GradewrightError, TimedOut
from ._retry import Lost, Retry, Send, Wait
from ._version import __version__
from .resources.benchmarks import AsyncBenchmarks, Benchmarks
from .resources.compositions import AsyncCompositions, Compositions
from .resources.drafts import AsyncDrafts, Drafts
from .resources.gradings import AsyncGradings, Gradings
from .resources.hauls import AsyncHauls, Hauls
from .resources.ledger import AsyncLedger, Ledger
from .resources.lists import AsyncLists, Lists
from .resources.postings import AsyncPostings, Postings
from .resources.prices import AsyncPrices, Prices
from .resources.recoveries import AsyncRecoveries, Recoveries
from .resources.regions import AsyncRegions, Regions
from .resources.rulebooks import AsyncRulebooks, Rulebooks
from .resources.service import AsyncService, Service
from .resources.settlements import AsyncSettlements, Settlements
from .resources.teardowns import AsyncTeardowns, Teardowns
from .resources.valuations import AsyncValuations, Valuations
from .resources.yards import AsyncYards, Yards

T = TypeVar("T")
DEFAULT_URL = "http://127.0.0.1:8000"


class _Settings:
    """What both clients are set up with. The key is held so that no repr shows it."""

    __slots__ = ("__key", "clock", "retry", "timeout", "url")

    def __init__(
        self, base_url: str | None, key: str | None, timeout: float, retry: Retry, clock: Callable[[], float]
    ) -> None:
        self.url = _checked_url(base_url or os.environ.get("GRADEWRIGHT_URL") or DEFAULT_URL)
        self.timeout = _checked_timeout(timeout)
        self.retry = retry
        self.clock = clock
        self.__key = (key if key is not None else os.environ.get("GRADEWRIGHT_KEY", "")).strip()
        if not all("!" <= sign <= "~" for sign in self.__key):
            raise ValueError("the key holds characters that no key has; copy it again from where it was made")

    def __repr__(self) -> str:
        return f"{self.url!r}, key {'set' if self.__key else 'not set'}"

    def prepared(self, call: Call[T]) -> _retry.Request:
        headers = {
            "Accept": call.accept,
            "User-Agent": f"gradewright-sdk/{__version__}",
            "X-Request-Id": uuid.uuid4().hex,
        }
        content = None
        if call.body is not None:
            headers["Content-Type"] = call.content_type
            content = call.body if isinstance(call.body, bytes) else _wire.body_bytes(call.body)
        if call.idempotency_key is not None:
            headers["Idempotency-Key"] = call.idempotency_key
        if call.if_match is not None:
            headers["If-Match"] = call.if_match
        if self.__key:
            headers["Authorization"] = f"Bearer {self.__key}"
        url = self.url + call.path + (f"?{urlencode(call.query)}" if call.query else "")
        return _retry.Request(call.method, url, headers, content, call.repeatable, call.heard)

    def conversation(self, call: Call[T]) -> _retry.Conversation:
        request = self.prepared(call)
        seconds = self.timeout if call.timeout is None else _checked_timeout(call.timeout)
        return _retry.converse(request, service=self.url, seconds=seconds, retry=self.retry, clock=self.clock)


def _checked_url(text: str) -> str:
    try:
        url = httpx.URL(text.strip())
    except httpx.InvalidURL as error:
        raise ValueError(
            f"the service's address cannot be read ({error}); write one such as {DEFAULT_URL}"
        ) from error
    if url.userinfo:
        raise ValueError(
            "the service's address holds a user or password; give the key as key= or GRADEWRIGHT_KEY"
        )
    whole = url.scheme in {"http", "https"} and url.host and (url.port or 80) <= 65535
    if not whole or url.query or url.fragment:
        raise ValueError(f"{text!r} is not the address of a service; write one such as {DEFAULT_URL}")
    return str(url).rstrip("/")


def _checked_timeout(seconds: float) -> float:
    if not 0 < seconds < float("inf"):
        raise ValueError(f"a timeout is a number of seconds above 0, not {seconds!r}")
    return seconds


def _answer(response: httpx.Response, content: bytes) -> Answer:
    headers = {name.lower(): value for name, value in response.headers.items()}
    return Answer(str(response.request.url), response.status_code, headers, content)


def _lost(error: Exception, step: Send, now: float) -> Lost:
    """What an httpx error means for the conversation."""
    if isinstance(error, httpx.TimeoutException | TimeoutError):
        if isinstance(error, httpx.ConnectTimeout) and now < step.ends:
            return Lost("connection", "no connection in time", error)
        return Lost("time", "too slow", error)
    if isinstance(error, httpx.DecodingError | httpx.TooManyRedirects):
        return Lost("garbled", str(error) or type(error).__name__, error)
    return Lost("connection", str(error) or type(error).__name__, error)


def _streams(response: httpx.Response) -> bool:
    """Whether the answer is a stream of events."""
    kind = response.headers.get("content-type", "").partition(";")[0].strip().lower()
    return response.status_code == 200 and kind == "text/event-stream"


def _no_stream(response: httpx.Response) -> NoReturn:
    """Raise what an answer that has been read means in place of a stream."""
    answer = _answer(response, response.content)
    _problems.ensure_success(answer)
    raise _problems.unexpected(answer, "it is not a stream of events")


def _broken(error: httpx.HTTPError, url: str, silence: float) -> GradewrightError:
    """What an httpx error means for a stream."""
    if isinstance(error, httpx.ReadTimeout):
        return TimedOut(url, silence)
    return ConnectionFailed(url, str(error) or type(error).__name__)


class Client:
    """A Gradewright service, asked synchronously.

    `base_url` and `key` default to GRADEWRIGHT_URL (else http://127.0.0.1:8000) and GRADEWRIGHT_KEY; reading,
    grading and valuing need no key. `timeout` is the total for one call in seconds, its retries included and
    however slowly an answer comes. An `http_client` of your own is used as it is and left open. `clock` and
    `sleep` are for tests.

    Raises the errors of `gradewright_sdk._exceptions`, all of them GradewrightError. Can be shared between
    threads.
    """

    def __init__(
        self,
        base_url: str | None = None,
        key: str | None = None,
        *,
        timeout: float = 30.0,
        retry: Retry | None = None,
        http_client: httpx.Client | None = None,
        clock: Callable[[], float] = time.monotonic,
        sleep: Callable[[float], None] = time.sleep,
    ) -> None:
        self._settings = _Settings(base_url, key, timeout, retry or Retry(), clock)
        self._sleep = sleep
        self._own = http_client is None
        self._http = http_client if http_client is not None else httpx.Client()
        self.regions = Regions(self)
        self.yards = Yards(self)
        self.postings = Postings(self)
        self.benchmarks = Benchmarks(self)
        self.compositions = Compositions(self)
        self.lists = Lists(self)
        self.prices = Prices(self)
        self.rulebooks = Rulebooks(self)
        self.drafts = Drafts(self)
        self.gradings = Gradings(self)
        self.valuations = Valuations(self)
        self.teardowns = Teardowns(self)
        self.settlements = Settlements(self)
        self.hauls = Hauls(self)
        self.recoveries = Recoveries(self)
        self.ledger = Ledger(self)
        self.service = Service(self)

    def send(self, call: Call[T], /) -> T:
        """Carry out a described call. For calls that no resource has; the resources' methods use it."""
        talk = self._settings.conversation(call)
        step = next(talk)
        try:
            while True:
                if isinstance(step, Wait):
                    self._sleep(step.seconds)
                    step = talk.send(None)
                else:
                    step = talk.send(self._try(step))
        except StopIteration as over:
            answer: Answer = over.value
        _problems.ensure_success(answer)
        return call.read(answer)

    def _try(self, step: Send) -> Answer | Lost:
        request, watch = step.request, Watch(step.ends, self._settings.clock)
        try:
            with (
                watch,
                self._http.stream(
                    request.method,
                    request.url,
                    headers=dict(request.headers),
                    content=request.content,
                    follow_redirects=False,
                    extensions=watch.extensions,
                ) as response,
            ):
                content = bytearray()
                for chunk in response.iter_bytes():
                    content += chunk
                    if request.heard is not None:
                        request.heard(chunk)
                    if self._settings.clock() >= step.ends:
                        break
                    watch.guard(response)
                else:
                    if not watch.over:  # a connection that was shut can look like the end of an answer
                        return _answer(response, bytes(content))
                return Lost("time", "too slow", TimeoutError("the answer was still coming"))
        except httpx.HTTPError as error:
            if watch.over:
                return Lost("time", "too slow", error)
            return _lost(error, step, self._settings.clock())

    def lines(self, call: Call[None], silence: float, /) -> Generator[str, None, None]:
        """The lines of an answer as they come. Raises TimedOut after so many seconds without one, and what
        else goes wrong; nothing is tried again.
        """
        request = self._settings.prepared(call)
        try:
            with self._http.stream(
                request.method,
                request.url,
                headers=dict(request.headers),
                extensions={"timeout": timeouts(silence)},
                follow_redirects=False,
            ) as response:
                if not _streams(response):
                    response.read()
                    _no_stream(response)
                yield from response.iter_lines()
        except httpx.HTTPError as error:
            raise _broken(error, self._settings.url, silence) from error

    def pause(self, seconds: float, /) -> None:
        """Wait."""
        self._sleep(seconds)

    @property
    def retry(self) -> Retry:
        """When the client tries again."""
        return self._settings.retry

    def close(self) -> None:
        """Close the connections, unless the http client is the caller's own."""
        if self._own:
            self._http.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def __repr__(self) -> str:
        return f"Client({self._settings!r})"


class AsyncClient:
    """A Gradewright service, asked from async code. The same methods as `Client`,
    awaited.
    """

    def __init__(
        self,
        base_url: str | None = None,
        key: str | None = None,
        *,
        timeout: float = 30.0,
        retry: Retry | None = None,
        http_client: httpx.AsyncClient | None = None,
        clock: Callable[[], float] = time.monotonic,
        sleep: Callable[[float], Awaitable[None]] | None = None,
    ) -> None:
        self._settings = _Settings(base_url, key, timeout, retry or Retry(), clock)
        self._sleep = sleep
        self._own = http_client is None
        self._http = http_client if http_client is not None else httpx.AsyncClient()
        self.regions = AsyncRegions(self)
        self.yards = AsyncYards(self)
        self.postings = AsyncPostings(self)
        self.benchmarks = AsyncBenchmarks(self)
        self.compositions = AsyncCompositions(self)
        self.lists = AsyncLists(self)
        self.prices = AsyncPrices(self)
        self.rulebooks = AsyncRulebooks(self)
        self.drafts = AsyncDrafts(self)
        self.gradings = AsyncGradings(self)
        self.valuations = AsyncValuations(self)
        self.teardowns = AsyncTeardowns(self)
        self.settlements = AsyncSettlements(self)
        self.hauls = AsyncHauls(self)
        self.recoveries = AsyncRecoveries(self)
        self.ledger = AsyncLedger(self)
        self.service = AsyncService(self)

    async def send(self, call: Call[T], /) -> T:
        """Carry out a described call. For calls that no resource has; the resources' methods use it."""
        import anyio

        talk = self._settings.conversation(call)
        step = next(talk)
        try:
            while True:
                if isinstance(step, Wait):
                    await (self._sleep or anyio.sleep)(step.seconds)
                    step = talk.send(None)
                else:
                    step = talk.send(await self._try(step))
        except StopIteration as over:
            answer: Answer = over.value
        _problems.ensure_success(answer)
        return call.read(answer)

    async def _try(self, step: Send) -> Answer | Lost:
        import anyio

        request = step.request
        try:
            with anyio.fail_after(step.seconds):
                async with self._http.stream(
                    request.method,
                    request.url,
                    headers=dict(request.headers),
                    content=request.content,
                    extensions={"timeout": timeouts(step.seconds)},
                    follow_redirects=False,
                ) as response:
                    content = bytearray()
                    async for chunk in response.aiter_bytes():
                        content += chunk
                        if request.heard is not None:
                            request.heard(chunk)
                        if self._settings.clock() >= step.ends:
                            return Lost("time", "too slow", TimeoutError("the answer was still coming"))
                    return _answer(response, bytes(content))
        except (httpx.HTTPError, TimeoutError) as error:
            return _lost(error, step, self._settings.clock())

    async def lines(self, call: Call[None], silence: float, /) -> AsyncGenerator[str, None]:
        """The lines of an answer as they come. Raises TimedOut after so many seconds without one, and what
        else goes wrong; nothing is tried again.
        """
        request = self._settings.prepared(call)
        try:
            async with self._http.stream(
                request.method,
                request.url,
                headers=dict(request.headers),
                extensions={"timeout": timeouts(silence)},
                follow_redirects=False,
            ) as response:
                if not _streams(response):
                    await response.aread()
                    _no_stream(response)
                async for line in response.aiter_lines():
                    yield line
        except httpx.HTTPError as error:
            raise _broken(error, self._settings.url, silence) from error

    async def pause(self, seconds: float, /) -> None:
        """Wait."""
        import anyio

        await (self._sleep or anyio.sleep)(seconds)

    @property
    def retry(self) -> Retry:
        """When the client tries again."""
        return self._settings.retry

    async def aclose(self) -> None:
        """Close the connections, unless the http client is the caller's own."""
        if self._own:
            await self._http.aclose()

    async def __aenter__(self) -> Self:
        return self

    async def __aexit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        await self.aclose()

    def __repr__(self) -> str:
        return f"AsyncClient({self._settings!r})"
