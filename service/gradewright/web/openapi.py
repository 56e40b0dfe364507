"""The OpenAPI 3.1 description: operations from the routes, schemas from Pydantic itself.

The framework's own generator drops patterns, `additionalProperties: false` and what decimals look like,
and does not know of the problems; so the schemas here are exactly those that requests are held against.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Iterator
from typing import Any, Literal, cast

from litestar import Litestar
from litestar.handlers import HTTPRouteHandler
from litestar.params import ParameterKwarg
from litestar.routes import HTTPRoute
from pydantic import BaseModel
from pydantic.json_schema import models_json_schema

from gradewright.web.idempotency import HEADER, REPLAYED
from gradewright.web.problems import KINDS, MEDIA_TYPE, Problem
from gradewright.web.requests import answered_model, other_media, query_model, taken_media

Schema = dict[str, Any]
Mode = tuple[type[BaseModel], Literal["validation", "serialization"]]
_PARAMETER = re.compile(r"\{(\w+):\w+\}")
_REF = "#/components/schemas/{model}"
_METHODS = ("GET", "POST", "PUT", "PATCH", "DELETE")
_NOT_MODIFIED = 304  # has no body, whatever the others have


def describe(app: Litestar, *, title: str, version: str, description: str) -> Schema:
    """The whole document, in a stable order."""
    operations = sorted(_operations(app), key=lambda found: (found[0], _METHODS.index(found[1])))
    models = {mode: None for _, _, handler in operations for mode in _models(handler)}
    models[(Problem, "serialization")] = None
    asked = {query_model(handler) for _, _, handler in operations}
    made, definitions = models_json_schema(list(models), ref_template=_REF)
    refs = cast("dict[Mode, Schema]", made)
    paths: dict[str, Schema] = {}
    for path, method, handler in operations:
        paths.setdefault(path, {})[method.lower()] = _operation(handler, path, method, refs, definitions)
    inlined = {_name(refs[mode]) for mode in refs if mode[0] in asked}
    schemas = {name: schema for name, schema in definitions["$defs"].items() if name not in inlined}
    return {
        "openapi": "3.1.0",
        "info": {"title": title, "version": version, "description": description},
        "servers": [{"url": "/"}],
        "paths": paths,
        "components": {
            "schemas": dict(sorted(schemas.items())),
            "responses": _problem_responses(refs),
            "securitySchemes": {
                "key": {
                    "type": "http",
                    "scheme": "bearer",
                    "description": "A key made by the operator: `Authorization: Bearer gw_…`.",
                }
            },
        },
    }


def _operations(app: Litestar) -> Iterator[tuple[str, str, HTTPRouteHandler]]:
    for route in app.routes:
        if not isinstance(route, HTTPRoute):
            continue
        for handler in route.route_handlers:
            if handler.resolve_include_in_schema():
                for method in handler.http_methods:
                    yield _PARAMETER.sub(r"{\1}", route.path_format), str(method), handler


def _models(handler: HTTPRouteHandler) -> Iterator[Mode]:
    if (data := handler.parsed_data_field) is not None:
        yield data.annotation, "validation"
    for body in _bodies(handler).values():
        if isinstance(body, type):
            yield body, "validation"
    if (asked := query_model(handler)) is not None:
        yield asked, "validation"
    for _, model, _ in _answers(handler):
        if model is not None:
            yield model, "serialization"


def _answers(handler: HTTPRouteHandler) -> Iterator[tuple[int, type[BaseModel] | None, str]]:
    """Status, model, description of what the operation answers when all is well."""
    yield handler.status_code, answered_model(handler), handler.response_description or "Done."
    for status, spec in sorted((handler.responses or {}).items()):
        yield status, cast("type[BaseModel]", spec.data_container), spec.description


def _bodies(handler: HTTPRouteHandler) -> dict[str, type[BaseModel] | Schema]:
    """What a body of a media type is, where it is not just text: its `opt={"bodies": {media: …}}`."""
    return cast("dict[str, type[BaseModel] | Schema]", handler.opt.get("bodies", {}))


def _operation(
    handler: HTTPRouteHandler, path: str, method: str, refs: dict[Mode, Schema], definitions: Schema
) -> Schema:
    made: Schema = {
        "operationId": handler.operation_id or handler.handler_name,
        "tags": list(handler.resolve_tags() or []),
        "summary": handler.summary or "",
        "description": inspect.cleandoc(handler.fn.__doc__ or ""),
        "parameters": [*_parameters(handler, path, refs, definitions)],
        "responses": {},
    }
    data = handler.parsed_data_field
    if data is not None:
        content = {"application/json": {"schema": refs[(data.annotation, "validation")]}}
        made["requestBody"] = {"required": True, "content": content}
    elif taken := taken_media(handler):
        text = {"type": "string", "minLength": 1}
        schemas = {
            media: refs[(body, "validation")] if isinstance(body, type) else body
            for media, body in _bodies(handler).items()
        }
        examples = handler.opt["takes"]
        content = {media: {"schema": schemas.get(media, text), "example": examples[media]} for media in taken}
        made["requestBody"] = {"required": True, "content": content}
    headers = _headers(handler)
    for status, model, description in _answers(handler):
        answer: Schema = {"description": description}
        if headers:
            answer["headers"] = headers
        if model is not None:
            answer["content"] = {"application/json": {"schema": refs[(model, "serialization")]}}
        for media in other_media(handler) if status != _NOT_MODIFIED else ():
            schema = handler.opt.get("media_schemas", {}).get(media, {"type": "string"})
            answer.setdefault("content", {})[media] = {"schema": schema}
        made["responses"][str(status)] = answer
    for status in _problem_statuses(handler, path, method):
        made["responses"][str(status)] = {"$ref": f"#/components/responses/Problem{status}"}
    if handler.guards:
        made["security"] = [{}, {"key": []}] if handler.opt.get("key_optional") else [{"key": []}]
    return {name: value for name, value in made.items() if value != []}


def _parameters(
    handler: HTTPRouteHandler, path: str, refs: dict[Mode, Schema], definitions: Schema
) -> Iterator[Schema]:
    for name in re.findall(r"\{(\w+)\}", path):
        told = handler.parsed_fn_signature.parameters[name].kwarg_definition
        described = told.description if isinstance(told, ParameterKwarg) else None
        yield {
            "name": name,
            "in": "path",
            "required": True,
            "description": described or "",
            "schema": {"type": "string", "minLength": 1},
        }
    asked = query_model(handler)
    if asked is not None:
        schema = definitions["$defs"][_name(refs[(asked, "validation")])]
        for field, told in schema["properties"].items():
            inner = {key: value for key, value in told.items() if key not in {"title", "default"}}
            described = inner.pop("description", "")
            yield {
                "name": field,
                "in": "query",
                "required": field in schema.get("required", ()),
                "description": described,
                "schema": _without_null(inner),
            }
    for name, schema in handler.opt.get("headers", {}).items():
        yield {"name": name, "in": "header", "required": False, **schema}
    if handler.opt.get("writes"):
        yield {
            "name": HEADER,
            "in": "header",
            "required": False,
            "description": "Sent again with the same body, the request is answered as the first time.",
            "schema": {"type": "string", "pattern": "^[!-~]{1,255}$"},
        }


def _name(ref: Schema) -> str:
    return str(ref["$ref"]).rpartition("/")[2]


def _without_null(schema: Schema) -> Schema:
    """A parameter is left out, never null."""
    kinds = [kind for kind in schema.get("anyOf", ()) if kind != {"type": "null"}]
    if len(kinds) != 1:
        return schema
    return {**{key: value for key, value in schema.items() if key != "anyOf"}, **kinds[0]}


def _headers(handler: HTTPRouteHandler) -> Schema:
    known = sorted(handler.resolve_response_headers(), key=lambda header: header.name)
    told = {header.name: header.description or "" for header in known}
    if handler.opt.get("writes"):
        told[REPLAYED] = "`true` where this is the answer kept from the first time."
    return {
        name: {"description": described, "schema": {"type": "string"}} for name, described in told.items()
    }


def _problem_statuses(handler: HTTPRouteHandler, path: str, method: str) -> list[int]:
    found = {400, 406, 422, 429, 500, 503}  # 422: a stray parameter is one, everywhere
    found |= {404} if "{" in path else set()
    found |= {413, 415} if taken_media(handler) else set()
    found |= {413} if method != "GET" else set()
    found |= {401} if handler.guards else set()
    found |= {403} if handler.guards and not handler.opt.get("key_optional") else set()
    found |= {409} if handler.opt.get("writes") else set()
    found |= set(handler.opt.get("problems", ()))
    return sorted(found - {handler.status_code})


def _problem_responses(refs: dict[Mode, Schema]) -> Schema:
    by_status: dict[int, list[str]] = {}
    for slug, kind in KINDS.items():
        by_status.setdefault(kind.status, []).append(slug)
    made: Schema = {}
    for status, slugs in sorted(by_status.items()):
        answer: Schema = {
            "description": "A problem: " + ", ".join(f"`/problems/{slug}`" for slug in slugs) + ".",
            "content": {MEDIA_TYPE: {"schema": refs[(Problem, "serialization")]}},
        }
        if status == 429:
            answer["headers"] = {"Retry-After": {"schema": {"type": "integer", "minimum": 1}}}
        if status == 401:
            answer["headers"] = {"WWW-Authenticate": {"schema": {"const": "Bearer"}}}
        made[f"Problem{status}"] = answer
    return made
