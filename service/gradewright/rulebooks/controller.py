"""Operations on published rulebooks."""

from __future__ import annotations

from typing import Annotated, Any

import msgspec
from litestar import Controller, Request, Response, get
from litestar.datastructures import ResponseHeader
from litestar.di import NamedDependency
from litestar.enums import MediaType
from litestar.openapi.datastructures import ResponseSpec
from litestar.params import Parameter

from gradewright.clock import Clock
from gradewright.rulebooks.origins import Origins
from gradewright.rulebooks.schemas import InForceQuery, RulebookDocument, RulebookList
from gradewright.rulebooks.service import RulebookService, Version
from gradewright.web.requests import query

WHOLE: dict[int, ResponseSpec] = {
    200: ResponseSpec(
        data_container=RulebookDocument, description="The whole version", generate_examples=False
    ),
    304: ResponseSpec(
        data_container=None, description="If-None-Match names it: there already", generate_examples=False
    ),
}
ETAG = ResponseHeader(name="ETag", documentation_only=True, description="The SHA-256 of the version.")


class RulebookController(Controller):
    """The grading rulebook, version by version."""

    path = "/v1/rulebooks"
    tags = ["rulebooks"]  # noqa: RUF012 - read by the framework

    @get(operation_id="list_rulebooks", summary="All published versions")
    async def listed(
        self,
        rulebooks: NamedDependency[RulebookService],
        origins: NamedDependency[Origins],
        clock: NamedDependency[Clock],
    ) -> RulebookList:
        """The published versions, the earliest in force first; how each stands today, the draft that it comes
        from, and who approved it.
        """
        return RulebookList.of(await rulebooks.all(), clock().date(), await origins.origins())

    @get(
        "/in-force",
        operation_id="get_rulebook_in_force",
        summary="The version in force on a day",
        dependencies=query(InForceQuery),
        responses=WHOLE,
        response_headers=[ETAG],
    )
    async def in_force(
        self,
        request: Request[Any, Any, Any],
        rulebooks: NamedDependency[RulebookService],
        clock: NamedDependency[Clock],
        asked: NamedDependency[InForceQuery],
    ) -> Response[bytes]:
        """The newest version that is effective on the day, or today."""
        return _whole(request, await rulebooks.in_force(asked.on or clock().date()))

    @get(
        "/{version:str}",
        operation_id="get_rulebook",
        summary="One version",
        responses=WHOLE,
        response_headers=[ETAG],
    )
    async def one(
        self,
        request: Request[Any, Any, Any],
        rulebooks: NamedDependency[RulebookService],
        version: Annotated[str, Parameter(description="The name of a version, such as 2018.1.")],
    ) -> Response[bytes]:
        """A version by its name, whole."""
        return _whole(request, await rulebooks.get(version, at=("version",)))


def _has(conditions: list[str], etag: str) -> bool:
    """Whether If-None-Match names the tag; compared weakly (RFC 9110, 13.1.2): proxies weaken tags."""
    named = [tag.strip().removeprefix("W/") for line in conditions for tag in line.split(",")]
    return "*" in named or etag in named


def _whole(request: Request[Any, Any, Any], version: Version) -> Response[bytes]:
    """The document as published, in its own order, with its digest."""
    sha256 = version.rulebook.sha256
    etag = f'"{sha256}"'
    headers = {"ETag": etag, "Cache-Control": "public, max-age=3600"}
    if _has(request.headers.getall("if-none-match", []), etag):
        return Response(b"", status_code=304, headers=headers)
    body = version.text.encode()[:-1] + b',"sha256":' + msgspec.json.encode(sha256) + b"}"
    return Response(body, media_type=MediaType.JSON, headers=headers)
