"""The ledger: every entry in order, and what comes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, TypeVar

from gradewright_sdk import _wire
from gradewright_sdk._base import (
    Answer,
    AsyncResource,
    Call,
    Page,
    Pages,
    Resource,
    asynchronous,
    asynchronous_pages,
    sync,
    sync_pages,
)
from gradewright_sdk._exceptions import GradewrightError
from gradewright_sdk._followers import asynchronous_follow, sync_follow
from gradewright_sdk._following import EntryPage, Following
from gradewright_sdk._problems import unexpected
from gradewright_sdk._reading import reads

if TYPE_CHECKING:
    from gradewright_sdk._models import ConsistencyProof, InclusionProof, LedgerEntry

T = TypeVar("T")
LINES = "application/x-ndjson, application/problem+json;q=0.1"
TEXT = "text/plain, application/problem+json;q=0.1"
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


def ledger_checkpoint(*, timeout: float | None = None) -> Call[str]:
    """The newest checkpoint, a signed note: `gradewright_sdk.proofs.open_checkpoint` checks and reads it."""
    return Call("GET", _wire.path("ledger", "checkpoint"), _as_text, timeout=timeout, accept=TEXT)


def ledger_key(*, timeout: float | None = None) -> Call[str]:
    """The public key that checkpoints are signed by, as `name+id+key`. Compare it with what the operator
    tells elsewhere: whoever could forge checkpoints could forge this.
    """
    return Call("GET", _wire.path("ledger", "key"), _as_key, timeout=timeout, accept=TEXT)


def prove_inclusion(
    entry: int, *, size: int | None = None, timeout: float | None = None
) -> Call[InclusionProof]:
    """What proves that an entry is in the tree of `size` entries (the newest):
    `gradewright_sdk.proofs.check_inclusion` checks it.
    """
    query = _wire.query(entry=entry, size=size)
    path = _wire.path("ledger", "proofs", "inclusion")
    return Call("GET", path, reads(_inclusion), query=query, timeout=timeout)


def prove_consistency(
    first: int, *, size: int | None = None, timeout: float | None = None
) -> Call[ConsistencyProof]:
    """What proves that the tree of `first` entries is the beginning of that of `size` (the newest):
    `gradewright_sdk.proofs.check_consistency` checks it.
    """
    query = _wire.query(from_=first, to=size)
    path = _wire.path("ledger", "proofs", "consistency")
    return Call("GET", path, reads(_consistency), query=query, timeout=timeout)


def ledger_lines(after: str, size: int) -> Call[tuple[list[bytes], str | None]]:
    """Entries after a position in their canonical form, unread, and the position of the next page."""

    def read(answer: Answer) -> tuple[list[bytes], str | None]:
        page = _ends(answer)
        return answer.content.splitlines(), page.upto if page.more else None

    return _page(after, size, None, read)


def _as_text(answer: Answer) -> str:
    try:
        return answer.content.decode()
    except UnicodeDecodeError:
        raise unexpected(answer, "it is not a text in UTF-8") from None


def _as_key(answer: Answer) -> str:
    return _as_text(answer).strip()


def _inclusion() -> type[InclusionProof]:
    from gradewright_sdk._models import InclusionProof

    return InclusionProof


def _consistency() -> type[ConsistencyProof]:
    from gradewright_sdk._models import ConsistencyProof

    return ConsistencyProof


def _page(after: str, size: int | None, timeout: float | None, read: Callable[[Answer], T]) -> Call[T]:
    query = _wire.query(after=after, limit=size)
    return Call("GET", _wire.path("ledger", "entries"), read, query=query, timeout=timeout, accept=LINES)


def _as_entries(answer: Answer) -> EntryPage:
    from gradewright_sdk._models import read_entries

    return replace(_ends(answer), entries=read_entries(answer))


def _ends(answer: Answer) -> EntryPage:
    """Where a page ends, without its entries."""
    upto, newest = answer.headers.get("ledger-upto", ""), answer.headers.get("ledger-newest", "")
    if not (upto.replace(".", "", 1).isdigit() and newest.isdigit()):
        raise unexpected(answer, "it does not say where it ends (Ledger-Upto, Ledger-Newest)")
    return EntryPage((), upto, int(newest))


def _as_page(answer: Answer) -> Page[LedgerEntry]:
    page = _as_entries(answer)
    return Page(page.entries, page.upto if page.more else None)


class Ledger(Resource):
    """The ledger: every entry in order, and what comes."""

    entries = sync_pages(ledger_entries)
    follow = sync_follow(follow_ledger)
    checkpoint = sync(ledger_checkpoint)
    key = sync(ledger_key)
    inclusion = sync(prove_inclusion)
    consistency = sync(prove_consistency)


class AsyncLedger(AsyncResource):
    """The ledger: every entry in order, and what comes."""

    entries = asynchronous_pages(ledger_entries)
    follow = asynchronous_follow(follow_ledger)
    checkpoint = asynchronous(ledger_checkpoint)
    key = asynchronous(ledger_key)
    inclusion = asynchronous(prove_inclusion)
    consistency = asynchronous(prove_consistency)
