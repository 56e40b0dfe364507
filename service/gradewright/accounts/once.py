"""Writes that are done once, however often they are sent."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from contextlib import suppress
from datetime import datetime
from functools import partial
from typing import Any, TypeVar

from litestar import Request, Response
from litestar.enums import MediaType

from gradewright.accounts.guards import caller
from gradewright.core.errors import GradewrightError
from gradewright.db import replays
from gradewright.db.replays import Claim, KeyTaken, Replay
from gradewright.db.session import Database
from gradewright.web.idempotency import REPLAYED, fingerprint, idempotency_key, mismatch

ANYONE = "anyone"
Answered = Claim[Response[Any]]
T = TypeVar("T")


async def once(
    request: Request[Any, Any, Any],
    database: Database,
    now: datetime,
    work: Callable[[], Awaitable[Response[T]]],
    together: Callable[[Answered | None], Awaitable[Response[T]]] | None = None,
) -> Response[T]:
    """The answer of `work`, or the one kept from the first time under the same key of the same account.

    The answer is kept in the transaction of the write: `work` writes with `database.write()`, which joins
    it. A refusal keeps nothing, so that the request can be sent again under its key.

    `together`: the same work in a transaction with others'; it keeps the answer with the claim that it is
    given. `work` is left then for keys that were used before.
    """
    key = idempotency_key(request)
    if key is None:
        return await (work() if together is None else together(None))
    account = caller(request)
    request_sha256 = await fingerprint(request)
    # Strangers share no keys: under the same one, only the same request is a repetition.
    scope = account.handle if account else f"{ANYONE} {request_sha256}"
    if together is not None:
        # What was answered under the key is answered again, even if the request would be refused by now.
        with suppress(KeyTaken, GradewrightError):
            return await together(Claim(scope, key, request_sha256, now, partial(_kept, request_sha256)))
    async with database.write() as session:
        there = await replays.claim(session, scope, key, request_sha256, now)
        if there is None:
            answer = await work()
            await replays.keep(session, scope, key, _kept(request_sha256, answer))
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


def _kept(request_sha256: str, answer: Response[Any]) -> Replay:
    body = answer.render(answer.content, MediaType.JSON)
    return Replay(request_sha256, answer.status_code or 200, dict(answer.headers), body)
