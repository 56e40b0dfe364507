"""The form of an answer: the one that the query names, else the one that the client takes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from litestar import Request

from gradewright.web.preferring import preferred
from gradewright.web.problems import ProblemError, RequestRefused
from gradewright.web.requests import admits


def chosen(request: Request[Any, Any, Any], asked: str | None, formats: Mapping[str, str]) -> str:
    """The media type of an answer. `formats`: by the words of `format=` in the query, the usual one first.

    Raises `RequestRefused` where the client does not take what the query names.
    """
    accept = ",".join(request.headers.getall("accept", []))
    if asked is None:
        return preferred(accept, tuple(formats.values()))
    media = formats[asked]
    if not admits(accept, media):
        detail = f"format={asked} is answered as {media} (faults: application/problem+json); accept it."
        errors = [ProblemError(detail=f"does not admit {media}", header="Accept")]
        raise RequestRefused("not-acceptable", detail, errors=errors)
    return media
