"""What can go wrong when asking a Gradewright service.

GradewrightError
├── APIError               the service answered, and said no
│   ├── InvalidRequest     something in the request cannot be read or carried out; `errors` point at it
│   │   ├── CurrencyMismatch      a price in another currency than the yard's
│   │   ├── NoRulebookInForce     no rulebook version is in force on that day, or none of that name
│   │   ├── UnsoundRulebook       a rulebook document has faults; `errors` name every one
│   │   └── IdempotencyMismatch   the same Idempotency-Key was used for another request
│   ├── NotFound           nothing of that name
│   │   ├── UnknownGrade   no grade or alias of that name; `suggestions` has near ones
│   │   ├── UnknownRegion  no region of that code
│   │   ├── UnknownYard    no yard of that slug
│   │   ├── UnknownBenchmark  no benchmark of that slug
│   │   └── UnknownDeviceKind  no kind of device of that slug
│   ├── Unauthorized       a key is needed, or this one is not valid
│   ├── Forbidden          the key's holder may not do this
│   ├── Conflict           something of that name exists already, or was said already
│   ├── Stale              it has changed since you read it; `errors` say who did what
│   ├── TooManyRequests    asked too often; `retry_after` says how long to wait
│   └── ServerError        the service failed or is not ready
├── ConnectionFailed       nobody answers at that address
├── TimedOut               no whole answer before the deadline
├── UnexpectedAnswer       an answer that is not Gradewright's: a proxy's page, broken JSON, a missing field
└── MixedCurrencies        Money of two currencies where one is needed
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


class GradewrightError(Exception):
    """Base of everything this package raises about a service and its answers."""


class MixedCurrencies(GradewrightError, ValueError):
    """Money of two currencies was added, subtracted or compared."""


def sentence(says: str, suggestions: Sequence[str] = ()) -> str:
    """What is wrong, ended with a full stop, and what may have been meant unless that is said already."""
    ended = says if says.endswith((".", "?", "!")) else f"{says}."
    _, writes, what = says.rpartition("write ")
    told = bool(writes) and "such as" not in what and all(one in what for one in suggestions)
    if not suggestions or told or "did you mean" in says.casefold():
        return ended
    return f"{ended} Did you mean {' or '.join(suggestions)}?"


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong in a request: what, where it stands, and what might have been meant.

    `pointer` is a JSON pointer into the body ("#/parts/3/grade"), `parameter` the name of a parameter in
    the URL, `header` the name of a header; the ones that do not apply are None.
    """

    detail: str
    pointer: str | None = None
    parameter: str | None = None
    header: str | None = None
    suggestions: tuple[str, ...] = ()

    @property
    def place(self) -> str:
        """Where it stands, for people; empty if the service did not say."""
        if self.pointer is not None:
            return self.pointer
        if self.parameter is not None:
            return f"parameter {self.parameter}"
        return f"header {self.header}" if self.header is not None else ""

    def __str__(self) -> str:
        said = sentence(self.detail, self.suggestions)
        return f"{self.place}: {said}" if self.place else said


class APIError(GradewrightError):
    """The service answered with a problem (RFC 9457).

    `type` is the problem type ("/problems/unknown-grade"), `slug` its last part, `title` and `detail` its
    words, `status` the HTTP status, `errors` the single faults, `request_id` what to give an operator who is
    to look it up, `retry_after` the seconds the service asked to wait (None if it did not), `attempts` how
    often it was tried.
    """

    def __init__(
        self,
        detail: str,
        *,
        type: str = "about:blank",
        title: str = "The service said no",
        status: int = 0,
        errors: Sequence[Fault] = (),
        request_id: str | None = None,
        instance: str | None = None,
        retry_after: float | None = None,
        attempts: int = 1,
    ) -> None:
        super().__init__(detail)
        self.detail = detail
        self.type = type
        self.title = title
        self.status = status
        self.errors = tuple(errors)
        self.request_id = request_id
        self.instance = instance
        self.retry_after = retry_after
        self.attempts = attempts

    @property
    def slug(self) -> str:
        """The last part of the problem type, such as "unknown-grade"."""
        return self.type.rpartition("/")[2]

    @property
    def suggestions(self) -> tuple[str, ...]:
        """What might have been meant, over all faults, each once."""
        return tuple(dict.fromkeys(one for fault in self.errors for one in fault.suggestions))

    def __str__(self) -> str:
        # The detail tells the first fault in full, mostly without its place: then that is put before it.
        first = next((one for one in self.errors if one.detail and one.detail in self.detail), None)
        place = first.place if first is not None and first.place not in self.detail else ""
        lines = [": ".join(filter(None, (self.title, place, self.detail)))]
        lines += [f"  {fault}" for fault in self.errors if fault is not first]
        if self.request_id:
            lines.append(f"  (status {self.status}, request {self.request_id})")
        return "\n".join(lines)


class InvalidRequest(APIError):
    """Something in the request cannot be read or carried out; `errors` point at each fault."""


class CurrencyMismatch(InvalidRequest):
    """A price in another currency than the yard's or the region's."""


class NoRulebookInForce(InvalidRequest):
    """No rulebook version is in force on that day, or there is none of that name."""


class UnsoundRulebook(InvalidRequest):
    """A rulebook document has faults; `errors` name every one, with its place in the document."""


class IdempotencyMismatch(InvalidRequest):
    """The same Idempotency-Key was used before for another request."""


class NotFound(APIError):
    """Nothing of that name."""


class UnknownGrade(NotFound):
    """No grade or alias of that name; `suggestions` has near ones."""


class UnknownRegion(NotFound):
    """No region of that code."""


class UnknownBenchmark(NotFound):
    """No benchmark of that slug."""


class UnknownDeviceKind(NotFound):
    """No kind of device of that slug."""


class UnknownYard(NotFound):
    """No yard of that slug."""


class Unauthorized(APIError):
    """A key is needed, or the one given is not valid. Set GRADEWRIGHT_KEY or pass `key=`."""


class Forbidden(APIError):
    """The key is valid, but its holder may not do this."""


class Conflict(APIError):
    """Something of that name exists already, or what was to be said was said, or taken back, already."""


class Stale(APIError):
    """What was to be changed has changed since it was read; `errors` say who did what. Read it again."""


class TooManyRequests(APIError):
    """Asked too often; `retry_after` says how many seconds to wait, if the service said."""


class ServerError(APIError):
    """The service failed, or is not ready. Nothing the caller did; give the operator the `request_id`."""


class ConnectionFailed(GradewrightError):
    """Nobody answers at the address. `url` is the service's address, `attempts` how often it was tried,
    `happened` that without what to do about it.
    """

    def __init__(self, url: str, why: str, *, attempts: int = 1) -> None:
        self.url, self.why, self.attempts = url, why, attempts
        self.happened = f"Could not reach a Gradewright service at {url} ({why}). Is it running there?"
        super().__init__(
            f"{self.happened} Start one with `gradewright serve`, or give the right address as "
            "GRADEWRIGHT_URL or base_url."
        )


class TimedOut(GradewrightError):
    """No whole answer before the deadline. `seconds` is the deadline, `request_id` what was sent to the
    service, `happened` that without what to do about it.
    """

    def __init__(self, url: str, seconds: float, *, attempts: int = 1, request_id: str | None = None) -> None:
        self.url, self.seconds, self.attempts, self.request_id = url, seconds, attempts, request_id
        times = "1 try" if attempts == 1 else f"{attempts} tries"
        self.happened = f"No whole answer from {url} within {seconds:g} s ({times}, request {request_id})."
        super().__init__(f"{self.happened} Allow more with timeout=, or ask for less at a time.")


class UnexpectedAnswer(GradewrightError):
    """An answer that is not what a Gradewright service gives. `status` is the HTTP status, `excerpt` how it
    begins.
    """

    def __init__(
        self, why: str, *, url: str, status: int, excerpt: str = "", request_id: str | None = None
    ) -> None:
        self.why, self.url, self.status, self.excerpt, self.request_id = why, url, status, excerpt, request_id
        begins = f" It begins: {excerpt!r}." if excerpt else ""
        super().__init__(f"Unexpected answer from {url} (status {status}): {why}.{begins}")
