"""Problem details (RFC 9457): the one shape in which every fault is told, and the table of kinds."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Annotated
from urllib.parse import quote

from pydantic import BaseModel, ConfigDict, Field

MEDIA_TYPE = "application/problem+json"


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of problem: status, title (always the same, as RFC 9457 asks), and what to do about it."""

    status: int
    title: str
    advice: str


KINDS: Mapping[str, Kind] = {
    "malformed-request": Kind(400, "Malformed request", "Send what the pointer names as JSON in UTF-8."),
    "unauthorized": Kind(401, "A key is needed", "Send a key as `Authorization: Bearer gw_…`."),
    "forbidden": Kind(403, "Not allowed", "Ask somebody whose key permits it."),
    "not-found": Kind(404, "Not found", "Look up what there is: /v1/openapi.json has every path."),
    "method-not-allowed": Kind(405, "Method not allowed", "Use a method that the Allow header names."),
    "not-acceptable": Kind(406, "Not acceptable", "Accept application/json and application/problem+json."),
    "conflict": Kind(409, "Already there", "What stands is never changed: give the new thing another name."),
    "wrong-state": Kind(
        409, "Not as it stands now", "Read it again: its state says what can be done with it."
    ),
    "precondition-failed": Kind(
        412, "Changed since you read it", "Read it again, look at what has changed, send yours against that."
    ),
    "payload-too-large": Kind(413, "Body too large", "Send less at once."),
    "unsupported-media-type": Kind(415, "Unsupported media type", "Send the body as application/json."),
    "invalid-request": Kind(
        422, "Invalid request", "Mend every fault that `errors` points at, then send it again."
    ),
    "unsound-rulebook": Kind(
        422, "The rulebook is not sound", "Mend every fault that `errors` points at, in the document."
    ),
    "unknown-grade": Kind(
        422, "Unknown grade", "Take one of the suggestions, or look it up in /v1/rulebooks/in-force."
    ),
    "unknown-region": Kind(422, "Unknown region", "Take one of the suggestions, or one of /v1/regions."),
    "unknown-benchmark": Kind(
        422, "Unknown benchmark", "Take one of the suggestions, or one of /v1/benchmarks."
    ),
    "unknown-device-kind": Kind(
        422, "Unknown kind of device", "Take one of the suggestions, or one of /v1/compositions."
    ),
    "unknown-yard": Kind(422, "Unknown yard", "Take one of the suggestions, or one of /v1/yards."),
    "idempotency-mismatch": Kind(422, "Idempotency key used before", "Send a new key with a new request."),
    "currency-mismatch": Kind(
        422, "Currencies do not fit", "Nothing is converted: keep each currency apart."
    ),
    "no-rulebook-in-force": Kind(
        422, "No rulebook to answer by", "Ask for a later day, or for one of /v1/rulebooks."
    ),
    "precondition-required": Kind(
        428, "Say what you have read", "Read it first, and send its ETag as If-Match."
    ),
    "too-many-requests": Kind(429, "Too many requests", "Wait as long as Retry-After says, then go on."),
    "internal-error": Kind(500, "Internal error", "Tell the operator the request_id; the log has the rest."),
    "unavailable": Kind(503, "Not available now", "Try again in a moment."),
}
"""`unknown-…` and `no-rulebook-in-force` are answered with 404 where the path itself names the thing."""


class ProblemError(BaseModel):
    """One fault of the request: what is wrong, where, and what may have been meant."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    detail: str
    pointer: Annotated[
        str | None, Field(description="Where in the body: a JSON pointer as a URI fragment (RFC 6901).")
    ] = None
    parameter: Annotated[str | None, Field(description="The parameter of the query or the path.")] = None
    header: Annotated[str | None, Field(description="The header field.")] = None
    suggestions: Annotated[list[str] | None, Field(description="What may have been meant, best first.")] = (
        None
    )


class Problem(BaseModel):
    """What went wrong, why, and what to do about it."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    type: Annotated[str, Field(pattern=r"^/problems/[a-z-]+$")]
    title: str
    status: Annotated[int, Field(ge=400, le=599)]
    detail: str
    instance: Annotated[str, Field(description="The path of the request.")]
    request_id: Annotated[str, Field(description="The same as in the X-Request-Id header and in the log.")]
    errors: list[ProblemError]


class RequestRefused(Exception):
    """A request that is turned down for how it is made: before any service has seen it."""

    def __init__(
        self,
        slug: str,
        detail: str,
        *,
        errors: Iterable[ProblemError] = (),
        headers: Mapping[str, str] | None = None,
    ) -> None:
        """`slug` is a key of `KINDS`."""
        super().__init__(detail)
        self.slug = slug
        self.detail = detail
        self.errors = tuple(errors)
        self.headers = dict(headers or {})


def malformed(detail: str, *, pointer: str | None = None) -> RequestRefused:
    """A body that is not JSON as the API takes it."""
    errors = [ProblemError(detail=detail, pointer=pointer)] if pointer is not None else []
    return RequestRefused("malformed-request", detail, errors=errors)


def invalid(errors: Iterable[ProblemError]) -> RequestRefused:
    """A request that can be read and breaks one or more rules; its detail sums them up."""
    listed = tuple(errors)
    return RequestRefused("invalid-request", summed_up(listed), errors=listed)


def summed_up(errors: tuple[ProblemError, ...]) -> str:
    """One sentence for a list of faults: where the first one is, what it says, how many there are."""
    first = errors[0]
    where = first.pointer or first.parameter or first.header
    more = f" (and {len(errors) - 1} more)" if len(errors) > 1 else ""
    return f"{where}: {first.detail}{more}" if where else f"{first.detail}{more}"


def pointer_to(path: Iterable[str | int]) -> str:
    """A path as a JSON pointer in a URI fragment (RFC 6901): `("parts", 3)` -> `#/parts/3`."""
    steps = (str(step).replace("~", "~0").replace("/", "~1") for step in path)
    return "#" + "".join("/" + quote(step, safe="~!$&'()*+,;=:@") for step in steps)
