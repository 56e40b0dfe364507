"""One description of each call, and what both clients make of it. Nothing here sends anything.

A resource module describes its calls as plain functions returning `Call` (or `Pages`). `sync` and
`asynchronous` turn the same description into a method of the one client and of the other: so they cannot
drift apart.
"""

from __future__ import annotations

import functools
import inspect
import uuid
from collections.abc import AsyncIterator, Awaitable, Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Concatenate, Generic, ParamSpec, Protocol, TypeVar

from ._exceptions import UnexpectedAnswer
from ._wire import Query

T = TypeVar("T")
P = ParamSpec("P")


@dataclass(frozen=True, slots=True)
class Answer:
    """What came back, whole. Header names are lower-case. `attempts` counts the tries it took."""

    url: str
    status: int
    headers: Mapping[str, str]
    content: bytes
    attempts: int = 1

    @property
    def request_id(self) -> str | None:
        return self.headers.get("x-request-id")


@dataclass(frozen=True, slots=True)
class Call(Generic[T]):
    """One call, described: what to send, and how to read the answer.

    `writes` says that it changes something at the service; such a call is repeated only under its
    `idempotency_key`. `timeout` is its total deadline in seconds, None for the client's. `accept` is what
    the answer may come as, `content_type` what the body is: JSON, unless it is bytes. `if_match` is the ETag
    of what it changes. `heard` is given the bytes of an answer as they come.
    """

    method: str
    path: str
    read: Callable[[Answer], T]
    query: Query = ()
    body: object = None
    writes: bool = False
    idempotency_key: str | None = None
    timeout: float | None = None
    accept: str = "application/json, application/problem+json"
    content_type: str = "application/json"
    if_match: str | None = None
    heard: Callable[[bytes], None] | None = None

    @property
    def repeatable(self) -> bool:
        """Whether sending it twice does no more than sending it once."""
        return not self.writes or self.idempotency_key is not None


@dataclass(frozen=True, slots=True)
class Page(Generic[T]):
    """Some of the items, and the cursor of the next page if there is one."""

    items: tuple[T, ...]
    next: str | None


@dataclass(frozen=True, slots=True)
class Pages(Generic[T]):
    """A call answered page by page: `after(None)` describes the first page, `after(cursor)` the one after
    it.
    """

    after: Callable[[str | None], Call[Page[T]]]

    def follow(self, page: Page[T], seen: set[str]) -> Call[Page[T]] | None:
        """The call for the page after `page`, None at the end; a cursor that was `seen` before would never
        end.
        """
        if page.next is None:
            return None
        call = self.after(page.next)
        if page.next in seen:
            raise UnexpectedAnswer("the same page comes again and again", url=call.path, status=200)
        seen.add(page.next)
        return call


def new_key(given: str | None = None) -> str:
    """The Idempotency-Key of one writing call: the caller's own, or a fresh one."""
    if given is None:
        return uuid.uuid4().hex
    if not (1 <= len(given) <= 255 and all("!" <= sign <= "~" for sign in given)):
        raise ValueError("an idempotency_key is 1 to 255 visible ASCII characters")
    return given


class Sender(Protocol):
    """What a resource of the sync client needs of it."""

    def send(self, call: Call[T], /) -> T: ...


class AsyncSender(Protocol):
    """What a resource of the async client needs of it."""

    def send(self, call: Call[T], /) -> Awaitable[T]: ...


class Resource:
    """Calls of the sync client that belong together."""

    __slots__ = ("_client",)

    def __init__(self, client: Sender) -> None:
        self._client = client

    def __init_subclass__(cls) -> None:
        _name_methods(cls)


class AsyncResource:
    """Calls of the async client that belong together."""

    __slots__ = ("_client",)

    def __init__(self, client: AsyncSender) -> None:
        self._client = client

    def __init_subclass__(cls) -> None:
        _name_methods(cls)


def sync(describe: Callable[P, Call[T]]) -> Callable[Concatenate[Resource, P], T]:
    """The described call as a method of the sync client."""

    def method(self: Resource, /, *args: P.args, **kwargs: P.kwargs) -> T:
        return self._client.send(describe(*args, **kwargs))

    return _dress(method, describe, "{}")


def asynchronous(describe: Callable[P, Call[T]]) -> Callable[Concatenate[AsyncResource, P], Awaitable[T]]:
    """The described call as a method of the async client."""

    async def method(self: AsyncResource, /, *args: P.args, **kwargs: P.kwargs) -> T:
        return await self._client.send(describe(*args, **kwargs))

    return _dress(method, describe, "{}")


def sync_pages(describe: Callable[P, Pages[T]]) -> Callable[Concatenate[Resource, P], Iterator[T]]:
    """The described pages as a method of the sync client that iterates over all items, fetching as it
    goes.
    """

    def method(self: Resource, /, *args: P.args, **kwargs: P.kwargs) -> Iterator[T]:
        pages = describe(*args, **kwargs)

        def items() -> Iterator[T]:
            call: Call[Page[T]] | None = pages.after(None)
            seen: set[str] = set()
            while call is not None:
                page = self._client.send(call)
                yield from page.items
                call = pages.follow(page, seen)

        return items()

    return _dress(method, describe, "Iterator[{}]")


def asynchronous_pages(
    describe: Callable[P, Pages[T]],
) -> Callable[Concatenate[AsyncResource, P], AsyncIterator[T]]:
    """The described pages as a method of the async client: `async for` over all items."""

    def method(self: AsyncResource, /, *args: P.args, **kwargs: P.kwargs) -> AsyncIterator[T]:
        pages = describe(*args, **kwargs)

        async def items() -> AsyncIterator[T]:
            call: Call[Page[T]] | None = pages.after(None)
            seen: set[str] = set()
            while call is not None:
                page = await self._client.send(call)
                for item in page.items:
                    yield item
                call = pages.follow(page, seen)

        return items()

    return _dress(method, describe, "AsyncIterator[{}]")


M = TypeVar("M", bound=Callable[..., object])


def _dress(method: M, describe: Callable[..., object], returns: str) -> M:
    """Give `method` the words and the signature of its description, with what the method itself returns."""
    functools.update_wrapper(method, describe)
    signature = inspect.signature(describe)
    inner = str(signature.return_annotation).partition("[")[2].removesuffix("]")
    itself = inspect.Parameter("self", inspect.Parameter.POSITIONAL_ONLY)
    dressed: Any = method
    dressed.__signature__ = signature.replace(
        parameters=[itself, *signature.parameters.values()], return_annotation=returns.format(inner)
    )
    dressed.__annotations__ = {**dressed.__annotations__, "return": returns.format(inner)}
    return method


def _name_methods(cls: type) -> None:
    for name, value in vars(cls).items():
        if inspect.isfunction(value):
            value.__name__, value.__qualname__ = name, f"{cls.__qualname__}.{name}"
