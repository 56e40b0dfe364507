"""Answers: models written by Pydantic itself, bytes passed through as they are."""

from __future__ import annotations

from typing import Any, TypeVar

from litestar import Response
from litestar.datastructures import ResponseHeader
from litestar.enums import MediaType
from pydantic import BaseModel

T = TypeVar("T")
M = TypeVar("M", bound=BaseModel)


class JsonResponse(Response[T]):
    """The response class of the application: a model goes out exactly as its serializer writes it."""

    def render(self, content: Any, media_type: str, enc_hook: Any = None) -> bytes:
        """The body's bytes."""
        if isinstance(content, BaseModel):
            return content.model_dump_json(by_alias=True).encode()
        if enc_hook is None:
            return super().render(content, media_type)
        return super().render(content, media_type, enc_hook)


def field_told(name: str, description: str) -> ResponseHeader:
    """A header field of an answer, for the description of the interface."""
    return ResponseHeader(name=name, documentation_only=True, description=description)


def json_answer(model: M, *, status: int = 200, headers: dict[str, str] | None = None) -> Response[M]:
    """A model as an answer with a status and headers of its own; its content is bytes already."""
    body: Any = model.model_dump_json(by_alias=True).encode()
    return Response(body, status_code=status, media_type=MediaType.JSON, headers=headers)
