"""The only place where an exception becomes a problem."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

import structlog
from litestar import Request, Response
from litestar.exceptions import HTTPException
from litestar.exceptions import ValidationException as ParameterException
from pydantic import ValidationError

from gradewright.core.errors import Fault, GradewrightError, NoRulebook, NotFound, RulebookError, UnknownGrade
from gradewright.logs import cause
from gradewright.web.problems import (
    KINDS,
    MEDIA_TYPE,
    Problem,
    ProblemError,
    RequestRefused,
    invalid,
    pointer_to,
)
from gradewright.web.requests import query_model
from gradewright.web.routing import allowed_methods, request_id
from gradewright.web.wording import detail_of

AnyRequest = Request[Any, Any, Any]
log = structlog.get_logger("gradewright.web")

_BY_STATUS = {
    401: ("unauthorized", "Send a key as `Authorization: Bearer gw_…`."),
    403: ("forbidden", "The key that was sent does not permit this."),
    404: ("not-found", "There is nothing at {path}. See /v1/openapi.json for what there is."),
    405: ("method-not-allowed", "{path} does not take {method}; it takes {allow}."),
    413: ("payload-too-large", "The body is larger than this service takes. Send less at once."),
    415: ("unsupported-media-type", "Send the body as application/json."),
    429: ("too-many-requests", "Wait as long as Retry-After says, then ask again."),
}


def problem_response(
    request: AnyRequest,
    slug: str,
    detail: str,
    *,
    status: int | None = None,
    errors: Iterable[ProblemError] = (),
    headers: dict[str, str] | None = None,
) -> Response[bytes]:
    """A problem in the one shape."""
    kind = KINDS[slug]
    status = status or kind.status
    problem = Problem(
        type=f"/problems/{slug}",
        title=kind.title,
        status=status,
        detail=detail,
        instance=request.scope["path"],
        request_id=request_id(request.scope),
        errors=list(errors),
    )
    extra = dict(headers or {})
    if status == 401:
        extra["WWW-Authenticate"] = "Bearer"
    return Response(
        problem.model_dump_json(exclude_none=True).encode(),
        status_code=status,
        media_type=MEDIA_TYPE,
        headers=extra,
    )


def on_refused(request: AnyRequest, error: RequestRefused) -> Response[bytes]:
    """A request turned down for how it is made."""
    return problem_response(request, error.slug, error.detail, errors=error.errors, headers=error.headers)


def on_gradewright(request: AnyRequest, error: GradewrightError) -> Response[bytes]:
    """A fault of the core or of a service. What the path names and is not there is a 404."""
    if error.slug not in KINDS:
        return on_unknown(request, error)
    in_document = isinstance(error, RulebookError)  # sent, or kept: its faults are told by the places in it
    errors = [_located(request, fault, in_document=in_document) for fault in error.faults]
    status = None
    if isinstance(error, NotFound | UnknownGrade | NoRulebook):
        named_by_path = all(entry.parameter in request.path_params for entry in errors)
        status = 404 if named_by_path and (errors or isinstance(error, NotFound)) else 422
    headers = {"Retry-After": "10"} if error.slug == "unavailable" else {}  # busy, or being stopped
    return problem_response(request, error.slug, error.detail, errors=errors, status=status, headers=headers)


def on_invalid(request: AnyRequest, error: ValidationError) -> Response[bytes]:
    """A body or a query that does not fit its schema."""
    faults = []
    for entry in error.errors(include_url=False, include_input=False):
        suggestions = tuple(str(text) for text in entry.get("ctx", {}).get("suggestions", ()))
        at = tuple(entry["loc"])
        if at[-1:] == ("[key]",) and entry["type"] != "extra_forbidden":
            at = at[:-1]  # how Pydantic says that it is the name that does not fit, not what stands under it
        faults.append(Fault(detail_of(entry), at, suggestions))
    return on_refused(request, invalid(_located(request, fault) for fault in faults))


def on_http(request: AnyRequest, error: HTTPException) -> Response[bytes]:
    """What the framework itself turns down."""
    if isinstance(error, ParameterException):
        return on_refused(request, invalid([ProblemError(detail=error.detail)]))
    if error.status_code >= 500:
        return on_unknown(request, error)
    path, method = request.scope["path"], request.scope["method"]
    headers = {}
    allow = ""
    if error.status_code == 405:
        allow = headers["Allow"] = ", ".join(allowed_methods(request.app, path))
    slug, says = _BY_STATUS.get(error.status_code, ("malformed-request", error.detail or "Cannot be read."))
    detail = says.format(path=path, method=method, allow=allow) if error.status_code in _BY_STATUS else says
    return problem_response(request, slug, detail, headers=headers)


def on_unavailable(request: AnyRequest, error: Exception) -> Response[bytes]:
    """The database cannot be reached, or has no room for one more."""
    log.error("unavailable", request_id=request_id(request.scope), cause=cause(error))
    return problem_response(
        request,
        "unavailable",
        "The database does not answer. Nothing was stored by this request; try again in a moment.",
        headers={"Retry-After": "2"},
    )


def on_unknown(request: AnyRequest, error: Exception) -> Response[bytes]:
    """A fault of ours: told as such, logged in full, nothing of it shown."""
    log.error(
        "internal error",
        request_id=request_id(request.scope),
        method=request.scope["method"],
        path=request.scope["path"],
        exc_info=error,
    )
    return problem_response(
        request,
        "internal-error",
        "Something broke on our side. Tell the operator the request_id; the log has the rest.",
    )


def exception_handlers(
    unavailable: Iterable[type[Exception]] = (),
) -> dict[int | type[Exception], Callable[[AnyRequest, Any], Response[Any]]]:
    """The whole map, for the application. `unavailable`: what the storage raises when it is not there."""
    table: dict[int | type[Exception], Callable[[AnyRequest, Any], Response[Any]]] = {
        RequestRefused: on_refused,
        GradewrightError: on_gradewright,
        ValidationError: on_invalid,
        HTTPException: on_http,
        Exception: on_unknown,
    }
    return table | dict.fromkeys(unavailable, on_unavailable)


def _located(request: AnyRequest, fault: Fault, *, in_document: bool = False) -> ProblemError:
    """A fault at a path: in the body where the operation has one, else in the query or the path."""
    suggestions = list(fault.suggestions) or None
    if fault.line is not None:  # a body that is a file has lines, as an editor counts them
        pointer = pointer_to(("lines", fault.line, *fault.at))
        return ProblemError(detail=fault.detail, pointer=pointer, suggestions=suggestions)
    if in_document or (_in_body(request, fault) and not _is_path_parameter(request, fault)):
        return ProblemError(detail=fault.detail, pointer=pointer_to(fault.at), suggestions=suggestions)
    if not fault.at:
        names = list(request.path_params)
        parameter = names[-1] if names else None
    else:
        parameter = str(fault.at[0])
    return ProblemError(detail=fault.detail, parameter=parameter, suggestions=suggestions)


def _in_body(request: AnyRequest, fault: Fault) -> bool:
    """Whether a fault stands in the body: of an operation that has one, and has no parameter of that name."""
    handler: Any = request.scope.get("route_handler")
    if handler is None or handler.parsed_data_field is not None or "bodies" not in handler.opt:
        return handler is not None and handler.parsed_data_field is not None
    asked = query_model(handler)
    return asked is None or not fault.at or fault.at[0] not in asked.model_fields


def _is_path_parameter(request: AnyRequest, fault: Fault) -> bool:
    return len(fault.at) == 1 and fault.at[0] in request.path_params
