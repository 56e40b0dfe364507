"""The wire forms of following: entries as they are hashed, and where a page begins and ends."""

from __future__ import annotations

from typing import Annotated

import msgspec
from pydantic import Field

from gradewright.ledger.feed import Page, Position, Recorded
from gradewright.web.fields import In, Out, TextForm, whole_number

LARGEST_PAGE = 5_000


def _position(text: str) -> Position:
    revision, _, line = text.partition(".")
    return Position(int(revision), int(line or 0))


PositionText = Annotated[
    Position,
    TextForm(
        r"^([0-9]{1,15}|[1-9][0-9]{0,14}\.[1-9][0-9]{0,8})$",
        read=_position,
        says="a revision, or a revision and one of its lines with a point between",
        example="312.500",
        longest=25,
    ),
]


PageSize = whole_number(1, LARGEST_PAGE)
RevisionNumber = whole_number(0, 10**15 - 1)


class EntriesQuery(In):
    """Which entries."""

    after: Annotated[
        PositionText,
        Field(description="Entries after this revision, or this line of it (`312.500`); 0: from the first."),
    ] = Position(0)
    limit: Annotated[
        PageSize,  # type: ignore[valid-type]
        Field(description="The most entries of a page; default 1000."),
    ] = 1000


class EventsQuery(In):
    """From where on."""

    after: Annotated[
        RevisionNumber | None,  # type: ignore[valid-type]
        Field(description="Revisions after this one; default: those to come."),
    ] = None


LedgerEntry = Annotated[
    dict[str, str | int | None],
    Field(
        description="`number` (of its leaf, from 0), `revision`, `line`, `kind`, `recorded_at`, and what its "
        "kind tells: in its canonical form (RFC 8785), whose bytes are what its leaf's hash is made of."
    ),
]


class LedgerPageOut(Out):
    """A page of the ledger."""

    entries: list[LedgerEntry]
    newest: Annotated[int, Field(description="The newest revision when the page was read.")]
    next: Annotated[str | None, Field(description="The `after` of the next page; null on the last one.")]
    upto: Annotated[str, Field(description="Where this page ends: the `after` to go on with, now or later.")]


def page_json(page: Page) -> bytes:
    """The page as one JSON object, each entry in its canonical form."""
    rest = {
        "newest": page.newest,
        "next": None if page.next is None else str(page.next),
        "upto": str(page.upto),
    }
    return b'{"entries":[' + b",".join(page.entries) + b"]," + msgspec.json.encode(rest)[1:]


def page_lines(page: Page) -> bytes:
    """The entries of the page, one on a line."""
    return b"".join(entry + b"\n" for entry in page.entries)


def event(recorded: Recorded) -> bytes:
    """A revision as an event of a stream."""
    data = msgspec.json.encode(
        {
            "revision": recorded.revision,
            "recorded_at": recorded.recorded_at,
            "entries": recorded.entries,
        }
    )
    return b"id: %d\nevent: revision\ndata: %s\n\n" % (recorded.revision, data)
