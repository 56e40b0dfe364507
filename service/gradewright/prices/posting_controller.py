"""Operations on postings."""

from __future__ import annotations

from typing import Annotated, Any

from litestar import Controller, Request, Response, get, post
from litestar.datastructures import ResponseHeader
from litestar.di import NamedDependency
from litestar.params import JSONBody, Parameter

from gradewright.accounts.guards import BY_NAME, caller, known, member
from gradewright.accounts.once import Answered, once
from gradewright.clock import Clock
from gradewright.db.session import Database
from gradewright.prices.posting_schemas import (
    OnePostingQuery,
    PostingIn,
    PostingList,
    PostingOut,
    PostingQuery,
)
from gradewright.prices.postings import Posting, PostingService
from gradewright.prices.views import MOST_SHOWN, PostingViews, as_posted
from gradewright.web.idempotency import WRITES
from gradewright.web.pagination import decode_cursor, encode_cursor, next_link
from gradewright.web.requests import query
from gradewright.web.responses import json_answer

PostingId = Annotated[str, Parameter(description="The id of a posting, such as p-1f2e….")]


class PostingController(Controller):
    """What members saw at yards."""

    path = "/v1/postings"
    tags = ["postings"]  # noqa: RUF012 - read by the framework

    @get(
        operation_id="list_postings",
        summary="Postings, newest first",
        dependencies=query(PostingQuery),
        guards=[known],
        opt=BY_NAME,
        response_headers=[
            ResponseHeader(name="Link", documentation_only=True, description="The next page (RFC 8288).")
        ],
    )
    async def listed(
        self,
        request: Request[Any, Any, Any],
        postings: NamedDependency[PostingService],
        views: NamedDependency[PostingViews],
        asked: NamedDependency[PostingQuery],
    ) -> Response[PostingList]:
        """Postings of a yard, of a region, or all; later pages go on from where the first one began.

        Of a long one the first 500 prices: the others are had from its own address.
        """
        (before,) = decode_cursor(asked.cursor, 1) if asked.cursor else (await postings.after_newest(),)
        found = await postings.newest(
            asked.region, asked.yard, before=before, limit=asked.limit + 1, most_entries=MOST_SHOWN + 1
        )
        more = len(found) > asked.limit
        page = found[: asked.limit]
        cursor = encode_cursor(page[-1].row.revision) if more else None
        shown = await views.of([(posting.row, posting.entries) for posting in page])
        reader = caller(request)
        answer = PostingList(postings=[PostingOut.of(view, reader) for view in shown], next=cursor)
        return json_answer(answer, headers=next_link(request, cursor))

    @get(
        "/{posting:str}",
        operation_id="get_posting",
        summary="One posting",
        dependencies=query(OnePostingQuery),
        guards=[known],
        opt=BY_NAME,
    )
    async def one(
        self,
        request: Request[Any, Any, Any],
        views: NamedDependency[PostingViews],
        asked: NamedDependency[OnePostingQuery],
        posting: PostingId,
    ) -> PostingOut:
        """A posting by its id, as posted, with what was said of it later.

        A long one comes in pages of 500 prices: `next_line` is the `from_line` of the next.
        Prices that wait are shown to its author, to maintainers and to who has confirmed or disputed them,
        with the figures that hold them. What waited, counted or was too old on another day is told with
        `on`: what was seen long ago is judged by the rules, and beside the prices, of that day.
        """
        view = await views.get(posting, asked.known_at, asked.from_line, asked.on)
        return PostingOut.of(view, caller(request))

    @post(
        operation_id="add_posting",
        summary="Post prices seen at a yard",
        guards=[member],
        opt=WRITES,
        response_headers=[
            ResponseHeader(name="Location", documentation_only=True, description="The posting's own address.")
        ],
    )
    async def add(
        self,
        request: Request[Any, Any, Any],
        data: JSONBody[PostingIn],
        postings: NamedDependency[PostingService],
        database: NamedDependency[Database],
        clock: NamedDependency[Clock],
    ) -> Response[PostingOut]:
        """Stores all the prices, or none: one that cannot be is pointed at, and nothing is stored.

        Where several workers serve, a read may for a moment be answered from the revision before; one that
        names the revision of this answer as `known_at` never is.
        """
        account = caller(request)
        author, given = account.handle if account else "", data.given()

        def answer(stored: Posting) -> Response[PostingOut]:
            headers = {"Location": f"/v1/postings/{stored.row.id}"}
            return json_answer(PostingOut.of(as_posted(stored), account), status=201, headers=headers)

        async def together(claim: Answered | None) -> Response[PostingOut]:
            return await postings.add(author, given, await postings.read(given), answer, claim)

        async def work() -> Response[PostingOut]:
            checked = await postings.read(given)
            async with database.write() as session:
                return answer(await postings.post(session, author, given, checked))

        return await once(request, database, clock(), work, together)
