"""Problem details (RFC 9457): the one shape in which every fault is told, and the table of kinds."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Annotated
from urllib.parse import quote

from pydantic import BaseModel, ConfigDict, Field

MEDIA_TYPE = "application/problem+json"

STATUS: Mapping[str, int] = {
    "malformed-request": 400,
    "unauthorized": 401,
    "forbidden": 403,
    "not-found": 404,
    "method-not-allowed": 405,
    "not-acceptable": 406,
    "conflict": 409,
    "payload-too-large": 413,
    "unsupported-media-type": 415,
    "invalid-request": 422,
    "unknown-grade": 422,
    "unknown-region": 422,
    "unknown-yard": 422,
    "idempotency-mismatch": 422,
    "currency-mismatch": 422,
    "no-rulebook-in-force": 422,
    "too-many-requests": 429,
    "internal-error": 500,
    "unavailable": 503,
}
"""Kind of problem -> status. `unknown-…` is answered with 404 where the path itself names the thing."""


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
        title: str,
        detail: str,
        *,
        errors: Iterable[ProblemError] = (),
        headers: Mapping[str, str] | None = None,
    ) -> None:
        """`slug` is a key of `STATUS`."""
        super().__init__(detail)
        self.slug = slug
        self.title = title
        self.detail = detail
        self.errors = tuple(errors)
        self.headers = dict(headers or {})


def malformed(detail: str, *, pointer: str | None = None) -> RequestRefused:
    """A body that is not JSON as the API takes it."""
    errors = [ProblemError(detail=detail, pointer=pointer)] if pointer is not None else []
    return RequestRefused("malformed-request", "Malformed request", detail, errors=errors)


def invalid(errors: Iterable[ProblemError]) -> RequestRefused:
    """A request that can be read and breaks one or more rules; its detail sums them up."""
    listed = tuple(errors)
    return RequestRefused("invalid-request", "Invalid request", summed_up(listed), errors=listed)


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
