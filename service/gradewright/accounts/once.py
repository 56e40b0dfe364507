"""Writes that are done once, however often they are sent."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from datetime import datetime
from typing import Any, TypeVar

from litestar import Request, Response
from litestar.enums import MediaType

from gradewright.accounts.guards import caller
from gradewright.db import replays
from gradewright.db.replays import Replay
from gradewright.db.session import Database
from gradewright.web.idempotency import REPLAYED, fingerprint, idempotency_key, mismatch

ANYONE = "anyone"
T = TypeVar("T")


async def once(
    request: Request[Any, Any, Any],
    database: Database,
    now: datetime,
    work: Callable[[], Awaitable[Response[T]]],
) -> Response[T]:
    """The answer of `work`, or the one kept from the first time under the same key of the same account.

    The answer is kept in the transaction of the write: `work` writes with `database.write()`, which joins
    it. A refusal keeps nothing, so that the request can be sent again under its key.
    """
    key = idempotency_key(request)
    if key is None:
        return await work()
    account = caller(request)
    request_sha256 = await fingerprint(request)
    # Strangers share no keys: under the same one, only the same request is a repetition.
    scope = account.handle if account else f"{ANYONE} {request_sha256}"
    async with database.write() as session:
        there = await replays.claim(session, scope, key, request_sha256, now)
        if there is None:
            answer = await work()
            body = answer.render(answer.content, MediaType.JSON)
            kept = Replay(request_sha256, answer.status_code or 200, dict(answer.headers), body)
            await replays.keep(session, scope, key, kept)
            return answer
    if there.request_sha256 != request_sha256:
        raise mismatch(key)
    body_again: Any = there.body
    return Response(
        body_again,
        status_code=there.status,
        media_type=MediaType.JSON,
        headers={**there.headers, REPLAYED: "true"},
    )
