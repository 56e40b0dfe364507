"""When to try again: one conversation for both clients, which only carry out its steps.

`converse` is a generator. It yields `Send` and `Wait`; it is sent what came of a `Send` (an `Answer` or a
`Lost`). It knows the time through `clock` alone, so tests run it without waiting.
"""

from __future__ import annotations

import email.utils
import random
from collections.abc import Callable, Generator, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import Literal

from ._base import Answer
from ._exceptions import ConnectionFailed, TimedOut, UnexpectedAnswer

RETRIED = frozenset({429, 502, 503, 504})


@dataclass(frozen=True, slots=True)
class Retry:
    """How often and how long apart: `times` more tries after the first, before the n-th a wait drawn evenly
    from 0 to `first` * 2**(n-1) seconds, at most `most` (exponential backoff with full jitter); longer
    where the service asked for it with Retry-After. Never beyond the call's deadline.
    """

    times: int = 4
    first: float = 0.25
    most: float = 8.0
    random: Callable[[], float] = field(default=random.random, repr=False)

    def wait(self, failures: int) -> float:
        """Seconds before the next try after so many failures."""
        return self.random() * float(min(self.most, self.first * 2 ** min(failures - 1, 62)))


@dataclass(frozen=True, slots=True)
class Request:
    """One HTTP request. Its headers hold the key, so they stay out of its repr."""

    method: str
    url: str
    headers: Mapping[str, str] = field(repr=False)
    content: bytes | None = field(repr=False)
    repeatable: bool
    heard: Callable[[bytes], None] | None = None


@dataclass(frozen=True, slots=True)
class Send:
    """Send the request; the whole answer has to be there before `ends` on the clock, `seconds` from now."""

    request: Request
    seconds: float
    ends: float


@dataclass(frozen=True, slots=True)
class Wait:
    """Wait so many seconds."""

    seconds: float


@dataclass(frozen=True, slots=True)
class Lost:
    """No answer: the connection failed, the time was over, or what came was not HTTP that can be read."""

    kind: Literal["connection", "time", "garbled"]
    why: str
    error: Exception


Conversation = Generator[Send | Wait, Answer | Lost | None, Answer]


def converse(
    request: Request, *, service: str, seconds: float, retry: Retry, clock: Callable[[], float]
) -> Conversation:
    """Send until there is an answer worth returning, at most `seconds` in all.

    Returns the answer, also a failing one once there are no tries or no time left. Raises ConnectionFailed,
    TimedOut or UnexpectedAnswer. `service` is the address named in them.
    """
    ends = clock() + seconds
    request_id = request.headers.get("X-Request-Id")
    attempts = 0
    while True:
        attempts += 1
        outcome = yield Send(request, max(ends - clock(), 0.0), ends)
        match outcome:
            case Answer(status=status) if status not in RETRIED:
                return replace(outcome, attempts=attempts)
            case Lost(kind="time", error=error):
                raise TimedOut(service, seconds, attempts=attempts, request_id=request_id) from error
            case Lost(kind="garbled", why=why, error=error):
                raise UnexpectedAnswer(why, url=request.url, status=0, request_id=request_id) from error
            case None:
                raise RuntimeError("a Send is to be followed by what came of it")
        wait = retry.wait(attempts)
        if isinstance(outcome, Answer):
            wait = max(wait, retry_after(outcome.headers) or 0.0)
        if not request.repeatable or attempts > retry.times or clock() + wait >= ends:
            if isinstance(outcome, Answer):
                return replace(outcome, attempts=attempts)
            raise ConnectionFailed(service, outcome.why, attempts=attempts) from outcome.error
        yield Wait(wait)


def retry_after(headers: Mapping[str, str]) -> float | None:
    """Seconds that Retry-After asks to wait (RFC 9110 10.2.3: seconds, or a date); None if it is absent or
    unreadable.

    A date is held against the answer's own Date, so a wrong clock here does no harm.
    """
    text = headers.get("retry-after", "").strip()
    if text.isascii() and text.isdigit():
        return float(text) if len(text) < 20 else float("inf")
    until = _http_date(text)
    if until is None:
        return None
    now = _http_date(headers.get("date", "")) or datetime.now(UTC)
    return max((until - now).total_seconds(), 0.0)


def _http_date(text: str) -> datetime | None:
    try:
        parsed = email.utils.parsedate_to_datetime(text)
    except ValueError:
        return None
    return parsed if parsed.tzinfo is not None else parsed.replace(tzinfo=UTC)
