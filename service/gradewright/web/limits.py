"""How many requests a client may make: counted per account, or per address where no valid key is sent.

The fields are those of the IETF draft "RateLimit header fields for HTTP"; the counting is the fixed window
of the `limits` library. Each worker counts for itself.
"""

from __future__ import annotations

import hashlib
import math
import time
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass
from ipaddress import IPv6Address, ip_address
from typing import Any

from limits import RateLimitItemPerMinute
from limits.storage import MemoryStorage
from limits.strategies import FixedWindowRateLimiter

from gradewright.web.guards import key_in
from gradewright.web.problems import KINDS, MEDIA_TYPE, Problem

SLUG = "too-many-requests"
UNCOUNTED = frozenset({"/healthz", "/readyz"})  # a probe would take a busy service for a sick one
COUNTERS_KEPT = 10_000  # of addresses in a minute; those beyond them share one
KEY_KNOWN_SECONDS = 60.0
Headers = list[tuple[bytes, bytes]]
Holder = Callable[[str], Awaitable[str | None]]
"""Whose valid key it is; None for any other, and while that cannot be found out."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether a request may go on, and what its answer tells of the window."""

    admitted: bool
    headers: Headers
    wait: int


class Limiter:
    """Counts requests in windows of a minute."""

    def __init__(self, per_minute: int, holder: Holder) -> None:
        self._item = RateLimitItemPerMinute(per_minute)
        self._storage = MemoryStorage()
        self._strategy = FixedWindowRateLimiter(self._storage)
        self._policy = f'"requests";q={per_minute};w=60'.encode()
        self._holder = holder
        self._holders: dict[str, tuple[str, float]] = {}  # of valid keys only, so there are few

    @property
    def counters(self) -> int:
        """How many are kept in memory just now."""
        return len(self._storage.storage)

    async def count(self, scope: Mapping[str, Any]) -> Verdict | None:
        """Count a request of the client that made it; None for those that are not counted."""
        if scope["path"] in UNCOUNTED:
            return None
        client = await self._client(scope)
        admitted = self._strategy.hit(self._item, client)
        reset, remaining = self._strategy.get_window_stats(self._item, client)
        wait = max(math.ceil(reset - time.time()), 1)
        state = f'"requests";r={remaining};t={wait}'.encode()
        headers = [(b"ratelimit-policy", self._policy), (b"ratelimit", state)]
        return Verdict(admitted, headers, wait)

    async def _client(self, scope: Mapping[str, Any]) -> str:
        """The account whose valid key was sent, or the address."""
        address = self._bounded(_address(scope))
        sent = [
            value.decode("latin-1") for name, value in scope["headers"] if name.lower() == b"authorization"
        ]
        key = key_in(sent)
        account = await self._account(key, address) if key is not None else None
        return address if account is None else f"account {account}"

    async def _account(self, key: str, address: str) -> str | None:
        digest = hashlib.sha256(key.encode()).hexdigest()
        account, known_until = self._holders.get(digest, ("", 0.0))
        if time.monotonic() < known_until:
            return account
        # Keys are looked up before anything is refused, so an address may ask only for so many in vain.
        in_vain = f"unknown keys of {address}"
        found = await self._holder(key) if self._strategy.test(self._item, in_vain) else None
        if found is None:
            self._strategy.hit(self._item, in_vain)
            self._holders.pop(digest, None)
        else:
            self._holders[digest] = (found, time.monotonic() + KEY_KNOWN_SECONDS)
        return found

    def _bounded(self, address: str) -> str:
        kept = self._storage.storage
        there = self._item.key_for(address) in kept
        return address if there or len(kept) < COUNTERS_KEPT else "all others"


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


def _address(scope: Mapping[str, Any]) -> str:
    """The client's address; of one of IPv6 its network, since whoever has one has the whole /64."""
    told = str((scope.get("client") or ("unknown",))[0])
    try:
        address = ip_address(told)
    except ValueError:
        return told
    return str(IPv6Address(int(address) >> 64 << 64)) if isinstance(address, IPv6Address) else told
