"""The ledger: every entry in order, and what comes."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, TypeVar

from gradewright_sdk import _wire
from gradewright_sdk._base import (
    Answer,
    AsyncResource,
    Call,
    Page,
    Pages,
    Resource,
    asynchronous_pages,
    sync_pages,
)
from gradewright_sdk._exceptions import GradewrightError
from gradewright_sdk._followers import asynchronous_follow, sync_follow
from gradewright_sdk._following import EntryPage, Following
from gradewright_sdk._problems import unexpected

if TYPE_CHECKING:
    from gradewright_sdk._models import LedgerEntry

T = TypeVar("T")
LINES = "application/x-ndjson, application/problem+json;q=0.1"
EVENTS = "text/event-stream, application/problem+json;q=0.1"


def ledger_entries(
    *, after: int | str = 0, page_size: int | None = None, timeout: float | None = None
) -> Pages[LedgerEntry]:
    """All entries after a revision, or after an entry's `position`, up to the newest; pages are fetched as
    they are needed. `timeout` is per page.
    """

    def page(cursor: str | None) -> Call[Page[LedgerEntry]]:
        return _page(str(after) if cursor is None else cursor, page_size, timeout, _as_page)

    return Pages(page)


def follow_ledger(
    *,
    after: int | str | None = 0,
    page_size: int = 1000,
    poll_seconds: float = 2.0,
    on_trouble: Callable[[GradewrightError], object] | None = None,
    timeout: float | None = None,
) -> Following[LedgerEntry]:
    """All entries after a revision, or after an entry's `position` (None: only those to come), and then each
    as it is written, without end.

    Lost connections and a service that restarts are waited out, with backoff; `on_trouble` is told of each
    fault. Nothing is lost and nothing comes twice: the numbers of entries are held against each other. Raises
    what waiting does not mend: the first question fails, or the service has another ledger, or an older one.
    Where there is no stream of events to be had, it asks every `poll_seconds`. `timeout` is per page.
    """

    def page(position: str, size: int) -> Call[EntryPage]:
        return _page(position, size, timeout, _as_entries)

    def events(revision: int) -> Call[None]:
        query = _wire.query(after=revision)
        return Call("GET", _wire.path("events"), lambda _: None, query=query, accept=EVENTS)

    return Following(None if after is None else str(after), page, events, page_size, poll_seconds, on_trouble)


def _page(after: str, size: int | None, timeout: float | None, read: Callable[[Answer], T]) -> Call[T]:
    query = _wire.query(after=after, limit=size)
    return Call("GET", _wire.path("ledger", "entries"), read, query=query, timeout=timeout, accept=LINES)


def _as_entries(answer: Answer) -> EntryPage:
    from gradewright_sdk._models import read_entries

    upto, newest = answer.headers.get("ledger-upto", ""), answer.headers.get("ledger-newest", "")
    if not (upto.replace(".", "", 1).isdigit() and newest.isdigit()):
        raise unexpected(answer, "it does not say where it ends (Ledger-Upto, Ledger-Newest)")
    return EntryPage(read_entries(answer), upto, int(newest))


def _as_page(answer: Answer) -> Page[LedgerEntry]:
    page = _as_entries(answer)
    return Page(page.entries, page.upto if page.more else None)


class Ledger(Resource):
    """The ledger: every entry in order, and what comes."""

    entries = sync_pages(ledger_entries)
    follow = sync_follow(follow_ledger)


class AsyncLedger(AsyncResource):
    """The ledger: every entry in order, and what comes."""

    entries = asynchronous_pages(ledger_entries)
    follow = asynchronous_follow(follow_ledger)
