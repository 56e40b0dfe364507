"""What takes a draft on: check, submission, approval, refusal, withdrawal."""

from __future__ import annotations

from typing import TYPE_CHECKING

import gradewright_sdk as results
from gradewright_sdk import _wire
from gradewright_sdk._base import Call, new_key
from gradewright_sdk._reading import reads
from gradewright_sdk._telling import Progress, reads_last, telling

if TYPE_CHECKING:
    from gradewright_sdk._models import DraftCheck, DraftTaken, RulebookComparison

PROVING = 180.0  # seconds: what is proved for the first time takes a while


def check_draft(
    id: str, *, progress: Progress | None = None, timeout: float | None = PROVING
) -> Call[DraftCheck]:
    """All that keeps the draft from being published today. The first time it is proved: some seconds.

    `progress` is told meanwhile what is looked at, how far it is, and how much there is.
    """
    path = _wire.path("rulebook-drafts", id, "check")
    read = reads_last(lambda: results.DraftCheck, "check")
    return Call("POST", path, read, timeout=timeout, **telling(progress))


def compare_draft(
    id: str,
    *,
    with_: str | None = None,
    progress: Progress | None = None,
    timeout: float | None = PROVING,
) -> Call[RulebookComparison]:
    """What the draft, as it stands, changes against a published version (the one that it builds on), by
    meaning. Raises NoRulebookInForce for an unknown one, UnsoundRulebook where the document is no rulebook.
    `progress` is told meanwhile what is counted, and how many so far.
    """
    return Call(
        "GET",
        _wire.path("rulebook-drafts", id, "comparison"),
        reads_last(lambda: results.RulebookComparison, "comparison"),
        query=_wire.query(**{"with": with_}),
        timeout=timeout,
        **telling(progress),
    )


def submit_draft(
    id: str, *, why: str, etag: str, idempotency_key: str | None = None, timeout: float | None = PROVING
) -> Call[DraftTaken]:
    """Put the draft before a second maintainer. Raises UnsoundRulebook with every fault, Stale, Conflict."""
    return _step(id, "submission", why, etag, idempotency_key, timeout)


def approve_draft(
    id: str,
    *,
    why: str,
    etag: str,
    ended_by: str | None = None,
    idempotency_key: str | None = None,
    timeout: float | None = PROVING,
) -> Call[DraftTaken]:
    """Publish a submitted draft for good. `ended_by`: the published version of which its check says that it
    ends this one, where that is meant. Raises Forbidden for one who has written or submitted it,
    InvalidRequest where `ended_by` lacks or is another, UnsoundRulebook, Stale, Conflict.
    """
    more = {} if ended_by is None else {"ended_by": ended_by}
    return _step(id, "approval", why, etag, idempotency_key, timeout, **more)


def refuse_draft(
    id: str, *, why: str, etag: str, idempotency_key: str | None = None, timeout: float | None = None
) -> Call[DraftTaken]:
    """Send a submitted draft back. Raises Forbidden for one who has written or submitted it, Stale,
    Conflict.
    """
    return _step(id, "refusal", why, etag, idempotency_key, timeout)


def withdraw_draft(
    id: str, *, why: str, etag: str, idempotency_key: str | None = None, timeout: float | None = None
) -> Call[DraftTaken]:
    """Give a draft up that is not published; it stays readable. Raises Stale, Conflict."""
    return _step(id, "withdrawal", why, etag, idempotency_key, timeout)


def _step(
    id: str,
    step: str,
    why: str,
    etag: str,
    idempotency_key: str | None,
    timeout: float | None,
    **more: str,
) -> Call[DraftTaken]:
    return Call(
        "POST",
        _wire.path("rulebook-drafts", id, step),
        reads(lambda: results.DraftTaken),
        body={"why": why, **more},
        if_match=etag,
        writes=True,
        idempotency_key=new_key(idempotency_key),
        timeout=timeout,
    )
