"""What every operation checks before it is run, and how bodies and queries reach it as models.

A body is declared as `data: JSONBody[Model]`. A query is declared as `asked: NamedDependency[Model]` with
`dependencies=query(Model)`; an operation that declares none takes no query parameters.
"""

from __future__ import annotations

import re
from typing import Any, cast
from urllib.parse import parse_qsl

from litestar import Request
from litestar.di import Provide
from litestar.dto import AbstractDTO
from litestar.handlers import HTTPRouteHandler
from litestar.typing import FieldDefinition
from pydantic import BaseModel

from gradewright.web.body import check_json
from gradewright.web.problems import ProblemError, RequestRefused, invalid, malformed

AnyRequest = Request[Any, Any, Any]


class StrictBody(AbstractDTO[BaseModel]):
    """Reads `data` with the strict JSON reader and the model's own strict validation."""

    models: dict[str, type[BaseModel]] = {}  # noqa: RUF012 - one table for all, by handler

    @classmethod
    def create_for_field_definition(
        cls, field_definition: FieldDefinition, handler_id: str, backend_cls: Any = None
    ) -> None:
        """Remembers the model that the handler asks for."""
        cls.models[handler_id] = field_definition.annotation

    @classmethod
    def create_openapi_schema(
        cls, field_definition: FieldDefinition, handler_id: str, schema_creator: Any
    ) -> Any:
        """The model's own schema."""
        return schema_creator.for_field_definition(field_definition)

    def decode_bytes(self, value: bytes) -> BaseModel:
        """The model; raises `RequestRefused` or Pydantic's ValidationError."""
        check_json(value)
        handler = cast("HTTPRouteHandler", self.asgi_connection.route_handler)
        return self.models[handler.handler_id].model_validate_json(value)


class QueryReader:
    """Reads the query string into a model: unknown and repeated parameters are refused."""

    def __init__(self, model: type[BaseModel]) -> None:
        self.model = model
        self.names = {field.alias or name for name, field in model.model_fields.items()}

    def __call__(self, request: AnyRequest) -> BaseModel:
        """The model; raises `RequestRefused` or Pydantic's ValidationError."""
        found: dict[str, str] = {}
        faults = []
        for name, value in parameters(request):
            if name not in self.names:
                known = ", ".join(sorted(self.names))
                faults.append(_parameter(name, f"there is no such parameter; there are: {known}"))
            elif name in found:
                faults.append(_parameter(name, "given more than once; give it once"))
            elif "\x00" in value:
                faults.append(_parameter(name, "has a NUL character; leave it out"))
            found[name] = value
        if faults:
            raise invalid(faults)
        return self.model.model_validate(found)


def query(model: type[BaseModel]) -> dict[str, Provide]:
    """Declares the query of an operation, which reaches it as `asked: NamedDependency[YardQuery]`."""
    return {"asked": Provide(QueryReader(model), sync_to_thread=False)}


def query_model(handler: HTTPRouteHandler) -> type[BaseModel] | None:
    """The model that an operation's query is read into, if it takes one."""
    provided = handler.resolve_dependencies().get("asked")
    reader = provided.dependency if provided else None
    return reader.model if isinstance(reader, QueryReader) else None


def parameters(request: AnyRequest) -> list[tuple[str, str]]:
    """The parameters of the query string in order. Raises `RequestRefused` where it cannot be read."""
    try:
        return parse_qsl(
            request.scope["query_string"].decode("ascii"),
            keep_blank_values=True,
            strict_parsing=True,
            errors="strict",
            max_num_fields=100,
        )
    except ValueError:
        raise malformed(
            "The query string cannot be read. Write name=value pairs joined by &, percent-encoded UTF-8."
        ) from None


async def before_request(request: AnyRequest) -> None:
    """Refuses what no operation takes: answers in other types, stray parameters, other bodies."""
    handler = request.route_handler
    _check_accept(request)
    if "\x00" in request.scope["path"]:
        raise malformed("The path has a NUL character. Leave it out.")
    if request.scope["query_string"] and query_model(handler) is None:
        names = dict.fromkeys(name for name, _ in parameters(request))
        raise invalid(_parameter(name, "this operation takes no parameters; leave it out") for name in names)
    if request.scope["method"] != "GET":
        await _check_body(request, taken_media(handler))


def _check_accept(request: AnyRequest) -> None:
    accept = ",".join(request.headers.getall("accept", []))
    others = other_media(request.route_handler)
    if not admits_json(accept) and not any(admits(accept, media) for media in others):
        told = ("application/json",) if answered_model(request.route_handler) or not others else ()
        kinds = ", ".join(told + others)
        raise RequestRefused(
            "not-acceptable",
            f"Answers are {kinds} (faults: application/problem+json); accept one of them.",
            errors=[ProblemError(detail=f"does not admit {kinds}", header="Accept")],
        )


def other_media(handler: Any) -> tuple[str, ...]:
    """What an operation answers in besides, or instead of, application/json: its `opt={"media": (…)}`."""
    return tuple(handler.opt.get("media", ()))


def answered_model(handler: Any) -> type[BaseModel] | None:
    """What an operation answers as JSON; None where all its answers are of other types."""
    field: FieldDefinition = handler.parsed_return_field
    for found in (field.annotation, *(inner.annotation for inner in field.inner_types)):
        if isinstance(found, type) and issubclass(found, BaseModel):
            return found
    return None


def taken_media(handler: Any) -> tuple[str, ...]:
    """What an operation's body may be: nothing, JSON, or text by its `opt={"takes": {media: example}}`."""
    if handler.parsed_data_field is not None:
        return ("application/json",)
    return tuple(handler.opt.get("takes", ()))


def admits_json(accept: str) -> bool:
    """Whether an Accept header leaves room for JSON."""
    return admits(accept, "application/json", "application/problem+json")


def admits(accept: str, *media: str) -> bool:
    """Whether an Accept header (RFC 9110, 12.5.1) leaves room for a type: the most precise range decides."""
    admitted: dict[str, bool] = {}
    for part in accept.split(","):
        kind, *options = (piece.strip().lower() for piece in part.split(";"))
        weight = next((option[2:] for option in options if option.startswith("q=")), "1")
        admitted[kind] = not re.fullmatch(r"0(\.0{0,3})?", weight)
    for kind in (*media, f"{media[0].partition('/')[0]}/*", "*/*", ""):
        if kind in admitted:
            return admitted[kind]
    return False


async def _check_body(request: AnyRequest, taken: tuple[str, ...]) -> None:
    body = await request.body()
    if not taken:
        if body.strip():
            raise malformed("This operation takes no body. Send none.", pointer="#")
        return
    kind, options = request.content_type
    if kind.lower() not in taken or options.get("charset", "utf-8").lower() not in {"utf-8", "utf8"}:
        kinds = " or ".join(taken)
        raise RequestRefused(
            "unsupported-media-type",
            f"The body came as {kind or 'nothing in particular'}. Send {kinds}, in UTF-8.",
            errors=[ProblemError(detail=f"must be {kinds}", header="Content-Type")],
            headers={"Accept-Patch" if request.method == "PATCH" else "Accept-Post": ", ".join(taken)},
        )
    if "application/json" in taken and not body.strip():
        raise malformed("The body is empty. Send a JSON object.", pointer="#")


def _parameter(name: str, detail: str) -> ProblemError:
    return ProblemError(detail=detail, parameter=name)
