"""Conditional requests (RFC 9110, 13): entity tags, If-Match for writes, If-None-Match for reads."""

from __future__ import annotations

import re
from typing import Any

from litestar import Request
from litestar.connection import ASGIConnection
from litestar.handlers import BaseRouteHandler

from gradewright.web.problems import ProblemError, RequestRefused, invalid

IF_MATCH = {
    "If-Match": {
        "required": True,
        "description": "The ETag of what you have read: what has changed since is never written over.",
        "schema": {"type": "string", "pattern": '^"[!#-~]+"$', "examples": ['"3-5e1f0c9a7b21"']},
    }
}
"""`opt={"headers": IF_MATCH, "problems": UNMET}` on an operation that changes what somebody has read, with
`conditional` among its guards."""
UNMET = (412, 428)
AnyConnection = ASGIConnection[Any, Any, Any, Any]
_TAGS = re.compile(r'[ \t,]*((W/)?"([\x21\x23-\x7e]*)")')


def etag(tag: str) -> str:
    """A tag as it stands in a header field."""
    return f'"{tag}"'


async def conditional(connection: AnyConnection, _: BaseRouteHandler) -> None:
    """A guard, for after those that look who asks: the precondition comes before query and body are read.

    Raises `RequestRefused`: 428 without If-Match (RFC 6585, 3), and for `*`, which would write over whatever
    is there.
    """
    sent = _sent(connection)
    if sent in {"", "*"}:
        why = (
            "`*` would write over whatever is there"
            if sent
            else "without If-Match others' work could be lost"
        )
        raise RequestRefused(
            "precondition-required",
            f"Nothing was stored: {why}. Read it first, and send its ETag as If-Match.",
            errors=[ProblemError(detail="send the ETag that you have read", header="If-Match")],
        )


def if_match(request: AnyConnection) -> tuple[str, ...]:
    """The tags that If-Match names; weak ones never match (RFC 9110, 13.1.1) and are left out."""
    tags, rest = [], _sent(request)
    while rest.strip(" \t,"):
        found = _TAGS.match(rest)
        if found is None:
            detail = 'write tags as they came in ETag, in double quotes, such as "3-5e1f0c9a7b21"'
            raise invalid([ProblemError(detail=detail, header="If-Match")])
        if not found[2]:
            tags.append(found[3])
        rest = rest[found.end() :]
    return tuple(tags)


def _sent(connection: AnyConnection) -> str:
    return ",".join(connection.headers.getall("if-match", [])).strip()


def is_known(request: Request[Any, Any, Any], tag: str) -> bool:
    """Whether If-None-Match names the tag; compared weakly (RFC 9110, 13.1.2): proxies weaken tags."""
    named = [one.strip() for line in request.headers.getall("if-none-match", []) for one in line.split(",")]
    return "*" in named or etag(tag) in {one.removeprefix("W/") for one in named}
