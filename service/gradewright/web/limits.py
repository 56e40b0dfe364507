"""How many requests a client may make: counted per key, or per address where none is sent.

The fields are those of the IETF draft "RateLimit header fields for HTTP"; the counting is the fixed window
of the `limits` library. Each worker counts for itself.
"""

from __future__ import annotations

import hashlib
import math
import time
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from limits import RateLimitItemPerMinute
from limits.storage import MemoryStorage
from limits.strategies import FixedWindowRateLimiter

from gradewright.web.problems import KINDS, MEDIA_TYPE, Problem

SLUG = "too-many-requests"
Headers = list[tuple[bytes, bytes]]


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether a request may go on, and what its answer tells of the window."""

    admitted: bool
    headers: Headers
    wait: int


class Limiter:
    """Counts requests in windows of a minute."""

    def __init__(self, per_minute: int) -> None:
        self._item = RateLimitItemPerMinute(per_minute)
        self._strategy = FixedWindowRateLimiter(MemoryStorage())
        self._policy = f'"requests";q={per_minute};w=60'.encode()

    def count(self, scope: Mapping[str, Any]) -> Verdict:
        """Count a request of the client that made it."""
        client = _client(scope)
        admitted = self._strategy.hit(self._item, client)
        reset, remaining = self._strategy.get_window_stats(self._item, client)
        wait = max(math.ceil(reset - time.time()), 1)
        state = f'"requests";r={remaining};t={wait}'.encode()
        headers = [(b"ratelimit-policy", self._policy), (b"ratelimit", state)]
        return Verdict(admitted, headers, wait)


def refusal(scope: Mapping[str, Any], verdict: Verdict, request_id: str) -> tuple[int, Headers, bytes]:
    """The answer to a request beyond the limit: status, headers, body."""
    problem = Problem(
        type=f"/problems/{SLUG}",
        title=KINDS[SLUG].title,
        status=KINDS[SLUG].status,
        detail=f"This client has used up its requests for now. Wait {verdict.wait} s, then go on.",
        instance=scope["path"],
        request_id=request_id,
        errors=[],
    )
    headers = [(b"content-type", MEDIA_TYPE.encode()), (b"retry-after", str(verdict.wait).encode())]
    return problem.status, headers, problem.model_dump_json(exclude_none=True).encode()


def _client(scope: Mapping[str, Any]) -> str:
    """The key that was sent, by its digest, or the address."""
    for name, value in scope["headers"]:
        if name.lower() == b"authorization":
            return hashlib.sha256(value).hexdigest()
    address = scope.get("client")
    return str(address[0]) if address else "unknown"
