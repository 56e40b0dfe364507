"""The edge around the framework: request ids, HEAD and OPTIONS, paths that cannot be."""

from __future__ import annotations

import asyncio
import re
import time
from contextlib import suppress
from typing import TYPE_CHECKING, Any, cast
from urllib.parse import quote
from uuid import uuid4

import structlog
from litestar.enums import HttpMethod, ScopeType
from litestar.exceptions import MethodNotAllowedException, NotFoundException

from gradewright.web.limits import Headers, Limiter, refusal

if TYPE_CHECKING:
    from litestar import Litestar
    from litestar.types import ASGIApp, HTTPScope, Method, Receive, Scope, Send

METHODS: tuple[Method, ...] = ("GET", "POST", "PUT", "PATCH", "DELETE")
_ID = re.compile(rb"[A-Za-z0-9._-]{1,128}")
_KEY = "gradewright_request_id"
_HEAD = "gradewright_head"
log = structlog.get_logger("gradewright.requests")


def request_id(scope: Scope) -> str:
    """The id of the request, as told in X-Request-Id."""
    return cast("str", scope["state"].get(_KEY, ""))


def is_head(scope: Scope) -> bool:
    """Whether the answer's body is not going to be sent: operations see HEAD as GET."""
    return _HEAD in scope["state"]


def allowed_methods(app: Litestar, path: str) -> list[str]:
    """What the path takes, HEAD and OPTIONS included; empty where there is nothing at all."""
    found: list[str] = []
    for method in METHODS:
        try:
            app.asgi_router.handle_routing(path=path, method=method)
        except (MethodNotAllowedException, NotFoundException):
            continue
        found += ["GET", "HEAD"] if method == "GET" else [method]
    return [*found, "OPTIONS"] if found else []


class Edge:
    """Stands around the application's ASGI handler; see `create_app`."""

    def __init__(
        self,
        app: Litestar,
        inner: ASGIApp,
        *,
        log_requests: bool = False,
        limiter: Limiter | None = None,
    ) -> None:
        self.app = app
        self.inner = inner
        self.log_requests = log_requests
        self.limiter = limiter

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Gives the request its id, answers HEAD and OPTIONS, and passes the rest on."""
        if scope["type"] == ScopeType.HTTP:
            await self._http(scope, receive, send)
        else:
            await self.inner(scope, receive, send)

    async def _http(self, scope: HTTPScope, receive: Receive, send: Send) -> None:
        started = time.perf_counter()
        told = _told_id(scope)
        scope.setdefault("state", {})[_KEY] = told
        method: str = scope["method"]
        status = 0
        inlet = Inlet(scope, receive)
        verdict = await self.limiter.count(scope) if self.limiter is not None else None
        extra = [(b"x-request-id", told.encode()), *(verdict.headers if verdict is not None else ())]

        async def telling(message: Any) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                if inlet.unread:
                    await inlet.drain()
                status = message["status"]
                message["headers"] = [*message.get("headers", []), *extra]
            elif method == "HEAD":
                message = {**message, "body": b""}
            await send(message)

        if verdict is not None and not verdict.admitted:
            await _answer(telling, *refusal(scope, verdict, told))
        elif method == "OPTIONS" and (allowed := allowed_methods(self.app, scope["path"])):
            await _answer(telling, 204, [(b"allow", ", ".join(allowed).encode())], b"")
        else:
            if method == "HEAD":
                scope["method"] = HttpMethod.GET
                scope["state"][_HEAD] = True
            await self.inner(scope, inlet, telling)
        if self.log_requests:
            milliseconds = round((time.perf_counter() - started) * 1000, 1)
            path = quote(scope["path"])
            log.info("request", method=method, path=path, status=status, ms=milliseconds, request_id=told)


class Inlet:
    """The request's body as it comes in.

    An answer that is sent while the client is still sending would be lost with the connection; so what
    nobody has read is taken off the line first, up to a size and for a time.
    """

    MOST_BYTES = 64 * 1024 * 1024
    MOST_SECONDS = 10

    def __init__(self, scope: HTTPScope, receive: Receive) -> None:
        headers = {name.lower(): value for name, value in scope["headers"]}
        length = headers.get(b"content-length", b"0")
        announced = int(length) if length.isdigit() else 0
        self._receive = receive
        self._more = announced > 0 or b"transfer-encoding" in headers
        # A client that waits for leave to send, or that has too much, is not asked to send for nothing.
        self._worth_it = b"expect" not in headers and announced <= self.MOST_BYTES

    async def __call__(self) -> Any:
        """The next message, as the application reads it."""
        message = await self._receive()
        self._more = message["type"] == "http.request" and message.get("more_body", False)
        return message

    @property
    def unread(self) -> bool:
        """Whether there is more to come that nobody has read."""
        return self._more

    async def drain(self) -> None:
        """Takes what is left off the line."""
        taken = 0
        with suppress(TimeoutError):
            async with asyncio.timeout(self.MOST_SECONDS):
                while self._more and self._worth_it and taken < self.MOST_BYTES:
                    taken += len((await self()).get("body", b""))


def _told_id(scope: Scope) -> str:
    for name, value in scope["headers"]:
        if name.lower() == b"x-request-id" and _ID.fullmatch(value):
            return value.decode()
    return uuid4().hex


async def _answer(send: Send, status: int, headers: Headers, body: bytes) -> None:
    await send(cast("Any", {"type": "http.response.start", "status": status, "headers": headers}))
    await send(cast("Any", {"type": "http.response.body", "body": body, "more_body": False}))
