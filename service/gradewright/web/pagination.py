"""Cursors: opaque to clients, pinned by the numbers inside them; and RFC 8288 links to the next page."""

from __future__ import annotations

import base64
import hashlib
from typing import Annotated, Any
from urllib.parse import urlencode

from litestar import Request

from gradewright.web.fields import TextForm
from gradewright.web.problems import ProblemError, invalid
from gradewright.web.requests import parameters

LARGEST = 2**63 - 1
"""The largest whole number that a database keeps."""

CursorText = Annotated[
    str,
    TextForm(
        r"^[A-Za-z0-9_-]{8,120}$",
        says="a cursor that this service gave as next",
        example="MzEyLjMxMg-2f1c9a",
        longest=120,
    ),
]


def encode_cursor(*numbers: int) -> str:
    """A cursor for whole numbers such as a pinned revision and a position. Not a secret, only opaque."""
    text = ".".join(str(number) for number in numbers)
    return base64.urlsafe_b64encode(f"{text}~{_check(text)}".encode()).decode().rstrip("=")


def decode_cursor(cursor: str, count: int, *, parameter: str = "cursor") -> tuple[int, ...]:
    """The numbers in a cursor. Raises `RequestRefused` for one that this service has not given."""
    try:
        padded = cursor + "=" * (-len(cursor) % 4)
        text, _, check = (
            base64.b64decode(padded, altchars=b"-_", validate=True).decode("ascii").partition("~")
        )
        numbers = tuple(int(part) for part in text.split("."))
    except ValueError:
        text, check, numbers = "", "", ()
    if check != _check(text) or len(numbers) != count or not all(0 <= n <= LARGEST for n in numbers):
        detail = "this is not a cursor of this list; use the one that the page before gave as next"
        raise invalid([ProblemError(detail=detail, parameter=parameter)])
    return numbers


def next_link(
    request: Request[Any, Any, Any], cursor: str | None, *, parameter: str = "cursor"
) -> dict[str, str]:
    """The Link header to the next page of the same question; nothing on the last page."""
    if cursor is None:
        return {}
    asked = [(name, value) for name, value in parameters(request) if name != parameter]
    target = f"{request.scope['path']}?{urlencode([*asked, (parameter, cursor)])}"
    return {"Link": f'<{target}>; rel="next"'}


def _check(text: str) -> str:
    return hashlib.sha256(b"cursor:" + text.encode()).hexdigest()[:6]
