"""The stand-in: an httpx transport with settable answers that records what it was asked."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from fnmatch import fnmatchcase
from typing import Any

import httpx

from gradewright_sdk._client import AsyncClient, Client
from gradewright_sdk._retry import Retry

BASE_URL = "http://gradewright.test"
STATUSES = {
    "malformed-request": 400,
    "unauthorized": 401,
    "forbidden": 403,
    "not-found": 404,
    "unknown-region": 404,
    "unknown-yard": 404,
    "unknown-benchmark": 404,
    "unknown-device-kind": 404,
    "conflict": 409,
    "wrong-state": 409,
    "precondition-failed": 412,
    "precondition-required": 428,
    "too-many-requests": 429,
    "internal-error": 500,
    "unavailable": 503,
}


class NothingSet(AssertionError):
    """A request came for which no answer was set."""


@dataclass(frozen=True, slots=True)
class Recorded:
    """A request as it came in. Header names are lower-case; `json` is the body, None if there was none or it
    is something else; `content` has its bytes.
    """

    method: str
    path: str
    query: Mapping[str, str]
    headers: Mapping[str, str]
    json: Any
    content: bytes = b""


Maker = Callable[[Recorded], httpx.Response]


@dataclass(slots=True)
class _Answer:
    method: str
    path: str
    make: Maker
    times: int | None

    def fits(self, request: Recorded) -> bool:
        return self.times != 0 and self.method == request.method and fnmatchcase(request.path, self.path)


@dataclass(slots=True)
class FakeGradewright:
    """A service that answers what it was told to. `requests` has what it was asked, `waits` the seconds that
    its clients would have waited between tries.

    Paths are exact, or patterns with `*`. Of several answers that fit the one set last is given; one with
    `times` is given so often and then the one set before it.
    """

    requests: list[Recorded] = field(default_factory=list)
    waits: list[float] = field(default_factory=list)
    _answers: list[_Answer] = field(default_factory=list)

    def answer(
        self,
        method: str,
        path: str,
        body: object = None,
        *,
        status: int = 200,
        headers: Mapping[str, str] | None = None,
        times: int | None = None,
    ) -> None:
        """Set an answer. `body` is a JSON value, bytes to send as they are, or a function of the request
        giving one.
        """

        def make(request: Recorded) -> httpx.Response:
            value = body(request) if callable(body) else body
            content = value if isinstance(value, bytes) else json.dumps(value, ensure_ascii=False).encode()
            return httpx.Response(
                status, content=content, headers={"Content-Type": "application/json", **(headers or {})}
            )

        self._answers.append(_Answer(method, path, make, times))

    def problem(
        self,
        method: str,
        path: str,
        slug: str,
        detail: str = "Set by a test.",
        *,
        status: int | None = None,
        errors: Sequence[Mapping[str, object]] = (),
        headers: Mapping[str, str] | None = None,
        times: int | None = None,
    ) -> None:
        """Set a problem as the answer, by its slug ("unknown-grade"); the status follows from it unless
        given.
        """
        status = status or STATUSES.get(slug, 422)

        def body(request: Recorded) -> dict[str, object]:
            return {
                "type": f"/problems/{slug}",
                "title": slug.replace("-", " ").capitalize(),
                "status": status,
                "detail": detail,
                "instance": request.path,
                "request_id": request.headers.get("x-request-id"),
                "errors": list(errors),
            }

        kind = {"Content-Type": "application/problem+json"}
        self.answer(method, path, body, status=status, headers={**kind, **(headers or {})}, times=times)

    def lose(
        self, method: str, path: str, why: str = "connection refused", *, times: int | None = None
    ) -> None:
        """Let the connection fail instead of answering."""

        def make(request: Recorded) -> httpx.Response:
            raise httpx.ConnectError(why)

        self._answers.append(_Answer(method, path, make, times))

    def handle(self, request: httpx.Request) -> httpx.Response:
        """Answer an httpx request: what `httpx.MockTransport` takes, sync and async."""
        recorded = Recorded(
            request.method,
            request.url.path,
            dict(request.url.params),
            {name.lower(): value for name, value in request.headers.items()},
            json.loads(request.content) if request.content and _is_json(request) else None,
            request.content,
        )
        self.requests.append(recorded)
        for answer in reversed(self._answers):
            if answer.fits(recorded):
                if answer.times is not None:
                    answer.times -= 1
                return answer.make(recorded)
        raise NothingSet(
            f"{recorded.method} {recorded.path} was asked, and no answer was set for it: "
            f"fake.answer({recorded.method!r}, {recorded.path!r}, …)"
        )

    @property
    def transport(self) -> httpx.MockTransport:
        """For an http client of your own: `httpx.Client(transport=fake.transport)`."""
        return httpx.MockTransport(self.handle)

    def client(self, base_url: str = BASE_URL, key: str = "", **settings: Any) -> Client:
        """A client of this service that does not wait between tries; `settings` as for Client."""
        settings = {"sleep": self.waits.append, "retry": Retry(random=lambda: 1.0), **settings}
        return Client(base_url, key, http_client=httpx.Client(transport=self.transport), **settings)

    def async_client(self, base_url: str = BASE_URL, key: str = "", **settings: Any) -> AsyncClient:
        """An async client of this service that does not wait between tries; `settings` as for AsyncClient."""

        async def sleep(seconds: float) -> None:
            self.waits.append(seconds)

        settings = {"sleep": sleep, "retry": Retry(random=lambda: 1.0), **settings}
        return AsyncClient(base_url, key, http_client=httpx.AsyncClient(transport=self.transport), **settings)


def _is_json(request: httpx.Request) -> bool:
    kind: str = request.headers.get("content-type", "application/json")
    return kind.startswith("application/json")
