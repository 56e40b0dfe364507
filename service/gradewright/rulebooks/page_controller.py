"""The operation that shows a version as a page for people."""

from __future__ import annotations

from typing import Annotated, Any

from litestar import Request, Response, get
from litestar.datastructures import ResponseHeader
from litestar.di import NamedDependency
from litestar.openapi.datastructures import ResponseSpec
from litestar.params import Parameter

from gradewright.rulebooks.page import STYLE_HASH
from gradewright.rulebooks.printed import PrintedRulebooks
from gradewright.web.conditions import etag, is_known

HTML = "text/html"
POLICY = f"default-src 'none'; style-src 'sha256-{STYLE_HASH}'; base-uri 'none'; form-action 'none'"
MEDIA: dict[str, Any] = {
    "media": (HTML,),
    "media_schemas": {
        HTML: {
            "type": "string",
            "description": "One page of HTML that needs no other file and runs no script.",
        }
    },
}
KNOWN: dict[int, ResponseSpec] = {
    304: ResponseSpec(
        data_container=None, description="If-None-Match names it: there already", generate_examples=False
    )
}


@get(
    "/v1/rulebooks/{version:str}/page",
    operation_id="get_rulebook_page",
    summary="One version as a page to read and to print",
    tags=["rulebooks"],
    opt=MEDIA,
    responses=KNOWN,
    response_headers=[
        ResponseHeader(name="ETag", documentation_only=True, description="The SHA-256 of the page.")
    ],
)
async def rulebook_page(
    request: Request[Any, Any, Any],
    printed: NamedDependency[PrintedRulebooks],
    version: Annotated[str, Parameter(description="The name of a version, such as 2018.1.")],
) -> Response[bytes]:
    """The whole version for people, on a phone or on paper: cautions, grades by family with what tells them
    apart and what makes them another grade, how to look at a part, limits with their sources, preparations,
    what cannot be, how prices come about, and what each published version up to this one has changed.
    """
    found = await printed.page(version)
    headers = {"ETag": etag(found.tag), "Cache-Control": "public, max-age=3600"}
    if is_known(request, found.tag):
        return Response(b"", status_code=304, headers=headers)
    headers |= {
        "Content-Disposition": f'inline; filename="rulebook-{found.version}.html"',
        "Content-Security-Policy": POLICY,
    }
    return Response(found.body, media_type=HTML, headers=headers)
