"""The edge around the framework: request ids, HEAD and OPTIONS, paths that cannot be."""

from __future__ import annotations

import re
import time
from typing import TYPE_CHECKING, Any, cast
from urllib.parse import quote
from uuid import uuid4

import structlog
from litestar.enums import HttpMethod, ScopeType
from litestar.exceptions import MethodNotAllowedException, NotFoundException

if TYPE_CHECKING:
    from litestar import Litestar
    from litestar.types import ASGIApp, HTTPScope, Method, Receive, Scope, Send

METHODS: tuple[Method, ...] = ("GET", "POST", "PUT", "PATCH", "DELETE")
_ID = re.compile(rb"[A-Za-z0-9._-]{1,128}")
_KEY = "gradewright_request_id"
log = structlog.get_logger("gradewright.requests")


def request_id(scope: Scope) -> str:
    """The id of the request, as told in X-Request-Id."""
    return cast("str", scope["state"].get(_KEY, ""))


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

    def __init__(self, app: Litestar, inner: ASGIApp, *, log_requests: bool = False) -> None:
        self.app = app
        self.inner = inner
        self.log_requests = log_requests

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

        async def telling(message: Any) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
                message["headers"] = [*message.get("headers", []), (b"x-request-id", told.encode())]
            elif method == "HEAD":
                message = {**message, "body": b""}
            await send(message)

        if method == "OPTIONS" and (allowed := allowed_methods(self.app, scope["path"])):
            await _answer_options(allowed, telling)
        else:
            if method == "HEAD":
                scope["method"] = HttpMethod.GET
            await self.inner(scope, receive, telling)
        if self.log_requests:
            milliseconds = round((time.perf_counter() - started) * 1000, 1)
            log.info(
                "request",
                method=method,
                path=quote(scope["path"]),
                status=status,
                ms=milliseconds,
                request_id=told,
            )


def _told_id(scope: Scope) -> str:
    for name, value in scope["headers"]:
        if name.lower() == b"x-request-id" and _ID.fullmatch(value):
            return value.decode()
    return uuid4().hex


async def _answer_options(allowed: list[str], send: Send) -> None:
    headers = [(b"allow", ", ".join(allowed).encode())]
    await send(cast("Any", {"type": "http.response.start", "status": 204, "headers": headers}))
    await send(cast("Any", {"type": "http.response.body", "body": b"", "more_body": False}))
