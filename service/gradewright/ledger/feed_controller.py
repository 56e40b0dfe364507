"""Operations that follow the ledger: its entries page by page, and a stream that tells of new revisions."""

from __future__ import annotations

import re
from collections.abc import AsyncGenerator
from typing import Any

from litestar import Controller, Request, Response, get
from litestar.datastructures import ResponseHeader
from litestar.di import NamedDependency
from litestar.enums import MediaType
from litestar.response import Stream

from gradewright.core.errors import Refused
from gradewright.ledger.events import Beat, Events
from gradewright.ledger.feed import Feed
from gradewright.ledger.feed_schemas import (
    EntriesQuery,
    EventsQuery,
    LedgerPageOut,
    event,
    page_json,
    page_lines,
)
from gradewright.web.pagination import next_link
from gradewright.web.preferring import preferred
from gradewright.web.problems import ProblemError, RequestRefused, invalid
from gradewright.web.requests import admits, query
from gradewright.web.routing import is_head

LINES = ("application/x-ndjson", "application/jsonl")
STREAM = "text/event-stream"
HEARD = "Last-Event-ID"
HEARD_TOLD = {
    "description": "The id heard last: the stream goes on after it. Comes before `after`.",
    "schema": {"type": "string", "pattern": "^[0-9]{0,15}$"},
}
EVENT = {
    "description": "One event; `data` is a JSON object with `revision`, `recorded_at`, `entries`.",
    "type": "object",
    "properties": {
        "id": {"type": "string", "pattern": "^[0-9]+$"},
        "event": {"const": "revision"},
        "data": {"type": "string", "contentMediaType": "application/json"},
    },
    "required": ["id", "event", "data"],
}
COME_BACK_MILLISECONDS = 1_000
AnyRequest = Request[Any, Any, Any]


def _told(name: str, description: str) -> ResponseHeader:
    return ResponseHeader(name=name, documentation_only=True, description=description)


class FeedController(Controller):
    """The ledger, to be followed."""

    path = "/v1"
    tags = ["ledger"]  # noqa: RUF012 - read by the framework

    @get(
        "/ledger/entries",
        operation_id="list_entries",
        summary="Every entry of the ledger, in order",
        dependencies=query(EntriesQuery),
        opt={"media": LINES},
        response_headers=[
            _told("Link", "The next page (RFC 8288), where there is more already."),
            _told("Ledger-Upto", "Where this page ends: the `after` to go on with, now or later."),
            _told("Ledger-Newest", "The newest revision when the page was read."),
        ],
    )
    async def entries(
        self, request: AnyRequest, feed: NamedDependency[Feed], asked: NamedDependency[EntriesQuery]
    ) -> Response[LedgerPageOut]:
        """Entries after a position, in their canonical form: as JSON, or one on a line as JSON Lines, where
        the bytes of each line are those whose hash is a leaf of the tree.

        Entries are what was said, and told to everybody so that the tree can be proved: also prices that
        wait (which their postings show to authors and maintainers only), that later entries take back or
        reject, or that a newer one overtakes. What counts is told by `GET /v1/prices`, not here.

        A page ends with a whole revision; only one with more entries than `limit` is continued inside, after
        the line that `upto` names. Whoever goes on with `upto` misses nothing and gets nothing twice.
        """
        page = await feed.page(asked.after, asked.limit)
        link = next_link(request, None if page.next is None else str(page.next), parameter="after")
        headers = {"Ledger-Upto": str(page.upto), "Ledger-Newest": str(page.newest), "Vary": "Accept", **link}
        kind = preferred(_accept(request), ("application/json", "application/problem+json", *LINES))
        body: Any = page_lines(page) if kind in LINES else page_json(page)
        media = kind if kind in LINES else MediaType.JSON
        return Response(body, media_type=media, headers=headers)

    @get(
        "/events",
        operation_id="listen",
        summary="Hear of new revisions",
        dependencies=query(EventsQuery),
        opt={"media": (STREAM,), "media_schemas": {STREAM: EVENT}, "headers": {HEARD: HEARD_TOLD}},
    )
    async def listen(
        self,
        request: AnyRequest,
        feed: NamedDependency[Feed],
        events: NamedDependency[Events],
        asked: NamedDependency[EventsQuery],
    ) -> Response[bytes] | Stream:
        """Server-Sent Events: for each revision one event `revision`, with its number as `id`, and as `data`
        its `revision`, `recorded_at` and how many `entries` it brought; they are read at /v1/ledger/entries,
        and are what was said, not what counts.

        `Last-Event-ID` goes on where a stream ended, and comes before `after`. The stream begins with the id
        after which it tells, has a comment at least every 15 seconds, and ends after an hour: come back then.
        """
        if not admits(_accept(request), STREAM):
            raise RequestRefused(
                "not-acceptable",
                f"This is a stream of {STREAM} (faults: application/problem+json); accept it.",
                errors=[ProblemError(detail=f"does not admit {STREAM}", header="Accept")],
            )
        after = await _beginning(request, feed, asked.after)
        events.admit()
        headers = {"Cache-Control": "no-store", "X-Accel-Buffering": "no"}
        if is_head(request.scope):
            return Response(b"", media_type=STREAM, headers=headers)
        return Stream(_stream(events, after), media_type=STREAM, headers=headers)


async def _stream(events: Events, after: int) -> AsyncGenerator[bytes]:
    yield b"retry: %d\nid: %d\n\n" % (COME_BACK_MILLISECONDS, after)
    heard = events.listen(after)
    try:
        async for told in heard:
            yield b":\n\n" if isinstance(told, Beat) else b"".join(map(event, told))
    finally:
        await heard.aclose()


def _accept(request: AnyRequest) -> str:
    return ",".join(request.headers.getall("accept", []))


async def _beginning(request: AnyRequest, feed: Feed, after: int | None) -> int:
    """The revision after which the stream tells: the one heard last by the header, else by the query."""
    text = request.headers.get(HEARD, "")
    if not text:
        return await feed.begin(after)
    if not re.fullmatch(r"[0-9]{1,15}", text):
        detail = "write the id of an event of this stream: the number of a revision"
        raise invalid([ProblemError(detail=detail, header=HEARD)])
    try:
        return await feed.begin(int(text))
    except Refused as error:  # the fault is of the header, whatever the query says
        raise invalid([ProblemError(detail=error.detail, header=HEARD)]) from None
