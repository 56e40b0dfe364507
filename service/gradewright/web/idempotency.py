"""The Idempotency-Key header: what it may be, and what makes two requests the same."""

from __future__ import annotations

import hashlib
import re
from typing import Any

from litestar import Request

from gradewright.web.problems import ProblemError, RequestRefused

HEADER = "Idempotency-Key"
REPLAYED = "Idempotency-Replayed"
WRITES = {"writes": True}
"""`opt=WRITES` on an operation that writes: it takes the header, and its description says so."""

_KEY = re.compile(r"[\x21-\x7e]{1,255}")


def idempotency_key(request: Request[Any, Any, Any]) -> str | None:
    """The key, or None where none was sent. Raises `RequestRefused` for one that cannot be."""
    sent = request.headers.getall(HEADER, [])
    if not sent:
        return None
    if len(sent) == 1 and _KEY.fullmatch(sent[0]):
        return sent[0]
    detail = "An Idempotency-Key is 1 to 255 visible ASCII characters, sent once. A new UUID is a good one."
    raise RequestRefused("invalid-request", detail, errors=[ProblemError(detail=detail, header=HEADER)])


async def fingerprint(request: Request[Any, Any, Any]) -> str:
    """SHA-256 (hex) of the method, the path, the query and the body's bytes."""
    parts = (
        str(request.scope["method"]).encode(),
        request.scope["path"].encode(),
        request.scope["query_string"],
        await request.body(),
    )
    made = hashlib.sha256()
    for part in parts:
        made.update(len(part).to_bytes(8, "big"))
        made.update(part)
    return made.hexdigest()


def mismatch(key: str) -> RequestRefused:
    """The key was used for another request."""
    detail = (
        f"The Idempotency-Key {key!r} was used for another request. Send a new key with a new request; "
        "send the same key only to repeat the very same one."
    )
    return RequestRefused(
        "idempotency-mismatch",
        detail,
        errors=[ProblemError(detail="was used for another request", header=HEADER)],
    )
