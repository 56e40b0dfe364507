"""A failing answer to the error that says it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from decimal import Decimal
from typing import Any, NoReturn

from . import _exceptions as ex
from ._base import Answer
from ._retry import retry_after

BY_SLUG: Mapping[str, type[ex.APIError]] = {
    "malformed-request": ex.InvalidRequest,
    "invalid-request": ex.InvalidRequest,
    "currency-mismatch": ex.CurrencyMismatch,
    "no-rulebook-in-force": ex.NoRulebookInForce,
    "unsound-rulebook": ex.UnsoundRulebook,
    "precondition-failed": ex.Stale,
    "precondition-required": ex.InvalidRequest,
    "idempotency-mismatch": ex.IdempotencyMismatch,
    "unknown-grade": ex.UnknownGrade,
    "unknown-region": ex.UnknownRegion,
    "unknown-yard": ex.UnknownYard,
    "unknown-benchmark": ex.UnknownBenchmark,
    "unknown-device-kind": ex.UnknownDeviceKind,
    "not-found": ex.NotFound,
    "unauthorized": ex.Unauthorized,
    "forbidden": ex.Forbidden,
    "conflict": ex.Conflict,
    "wrong-state": ex.Conflict,
    "too-many-requests": ex.TooManyRequests,
    "internal-error": ex.ServerError,
    "unavailable": ex.ServerError,
}
BY_STATUS: Mapping[int, type[ex.APIError]] = {
    400: ex.InvalidRequest,
    401: ex.Unauthorized,
    403: ex.Forbidden,
    404: ex.NotFound,
    409: ex.Conflict,
    412: ex.Stale,
    413: ex.InvalidRequest,
    415: ex.InvalidRequest,
    422: ex.InvalidRequest,
    428: ex.InvalidRequest,
    429: ex.TooManyRequests,
}


def parse_json(answer: Answer) -> Any:
    """The answer's JSON, numbers with a point as Decimal; UnexpectedAnswer if it is none."""
    try:
        return json.loads(answer.content, parse_float=Decimal)
    except (ValueError, RecursionError) as error:
        raise unexpected(answer, "it is not JSON that can be read") from error


def unexpected(answer: Answer, why: str) -> ex.UnexpectedAnswer:
    """The error for an answer that is not Gradewright's."""
    return ex.UnexpectedAnswer(
        why,
        url=answer.url,
        status=answer.status,
        excerpt=answer.content[:120].decode("utf-8", "replace"),
        request_id=answer.request_id,
    )


def ensure_success(answer: Answer) -> None:
    """Return if the service said yes; raise the APIError its problem stands for, or UnexpectedAnswer."""
    if 200 <= answer.status < 300:
        return
    if 300 <= answer.status < 400:
        where = answer.headers.get("location", "elsewhere")
        raise unexpected(
            answer, f"it sends on to {where}; give the service's own address as base_url or GRADEWRIGHT_URL"
        )
    raise_problem(answer)


def raise_problem(answer: Answer) -> NoReturn:
    """Raise the error that the answer's problem document stands for."""
    kind = answer.headers.get("content-type", "").partition(";")[0].strip().lower()
    if not kind.endswith("json"):
        raise unexpected(
            answer, f"an error page of type {kind or 'unknown'}, probably from a proxy or another service"
        )
    problem = parse_json(answer)
    if not isinstance(problem, dict) or "type" not in problem:
        raise unexpected(answer, "the error is not a problem document")
    type_ = str(problem["type"])
    cls = BY_SLUG.get(type_.rpartition("/")[2]) or BY_STATUS.get(answer.status)
    if cls is None:
        cls = ex.ServerError if answer.status >= 500 else ex.APIError
    raise cls(
        str(problem.get("detail") or ""),
        type=type_,
        title=str(problem.get("title") or "The service said no"),
        status=answer.status,
        errors=[_fault(one) for one in problem.get("errors") or () if isinstance(one, dict)],
        request_id=problem.get("request_id") or answer.request_id,
        instance=problem.get("instance"),
        retry_after=retry_after(answer.headers),
        attempts=answer.attempts,
    )


def _fault(one: Mapping[str, Any]) -> ex.Fault:
    return ex.Fault(
        str(one.get("detail") or ""),
        pointer=one.get("pointer"),
        parameter=one.get("parameter"),
        header=one.get("header"),
        suggestions=tuple(str(name) for name in one.get("suggestions") or ()),
    )
