"""Later words about a posting: taken back, confirmed, disputed, decided on, put right; and what waits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING

import gradewright_sdk as results
from gradewright_sdk import _wire
from gradewright_sdk._base import Call, new_key
from gradewright_sdk._inputs import PriceSeen, as_mapping
from gradewright_sdk._reading import reads

if TYPE_CHECKING:
    from gradewright_sdk._models import Correction, HeldPrices, WordStored


def withdraw_posting(
    id: str,
    *,
    reason: str,
    lines: Sequence[int] | None = None,
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[WordStored]:
    """Take prices of your own back: `lines`, or all that still stand. What was known before stays known.

    Raises Forbidden for another member's, Conflict for lines that were taken back already.
    """
    return _said(id, "withdrawal", reason, lines, idempotency_key, timeout)


def confirm_posting(
    id: str,
    *,
    reason: str,
    lines: Sequence[int] | None = None,
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[WordStored]:
    """Confirm prices of another member (members): a price that waits counts once a second one is behind it.

    Your last word on a line stands. Raises Forbidden for your own, Conflict where you have said so already.
    """
    return _said(id, "confirmation", reason, lines, idempotency_key, timeout)


def dispute_posting(
    id: str,
    *,
    reason: str,
    lines: Sequence[int] | None = None,
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[WordStored]:
    """Dispute prices of another member (members): two who weigh more than those behind them make them wait.

    Your last word on a line stands. Raises Forbidden for your own, Conflict where you have said so already.
    """
    return _said(id, "dispute", reason, lines, idempotency_key, timeout)


def decide_posting(
    id: str,
    verdict: str,
    *,
    reason: str,
    lines: Sequence[int] | None = None,
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[WordStored]:
    """Decide on prices (maintainers): "accepted" ones count whatever others say, "rejected" ones do not.

    The last decision stands. Raises Forbidden for your own, Conflict where it was decided so already.
    """
    return _said(id, "decision", reason, lines, idempotency_key, timeout, verdict=verdict)


def correct_posting(
    id: str,
    prices: Sequence[PriceSeen | Mapping[str, object]],
    *,
    reason: str,
    lines: Sequence[int] | None = None,
    observed_on: date | str | None = None,
    evidence: str | None = None,
    note: str | None = None,
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[Correction]:
    """Take prices of your own back and post others in their place: all of it or nothing, in one revision.

    Without `lines` all that still stand of the posting are taken back, however few are posted in their place.

    Day, evidence and note are as they were posted, unless they are said again. Raises as `create` and
    `withdraw` do.
    """
    body = _body(reason, lines)
    body["prices"] = _wire.with_amounts([as_mapping(one) for one in prices], "prices")
    if observed_on is not None:
        body["observed_on"] = _wire.day_text(observed_on, "observed_on")
    body |= {name: one for name, one in (("evidence", evidence), ("note", note)) if one is not None}
    return Call(
        "POST",
        _wire.path("postings", id, "correction"),
        reads(lambda: results.Correction),
        body=body,
        writes=True,
        idempotency_key=new_key(idempotency_key),
        timeout=timeout,
    )


def held_prices(
    region: str,
    *,
    on: date | str | None = None,
    known_at: int | datetime | str | None = None,
    timeout: float | None = None,
) -> Call[HeldPrices]:
    """The prices of a region that wait on a day (today), as known at a revision or an instant (now), with the
    figures that hold them: maintainers see all of them, members their own.
    """
    query = _wire.query(
        region=region,
        on=None if on is None else _wire.day_text(on, "on"),
        known_at=None if known_at is None else _wire.known_at_wire(known_at),
    )
    return Call(
        "GET",
        _wire.path("held-prices"),
        reads(lambda: results.HeldPrices),
        query=query,
        timeout=timeout,
    )


def _said(
    id: str,
    kind: str,
    reason: str,
    lines: Sequence[int] | None,
    idempotency_key: str | None,
    timeout: float | None,
    **more: object,
) -> Call[WordStored]:
    return Call(
        "POST",
        _wire.path("postings", id, kind),
        reads(lambda: results.WordStored),
        body={**_body(reason, lines), **more},
        writes=True,
        idempotency_key=new_key(idempotency_key),
        timeout=timeout,
    )


def _body(reason: str, lines: Sequence[int] | None) -> dict[str, object]:
    """Without `lines` it is about all: an empty list is sent, so that the service refuses it."""
    return {"reason": reason} if lines is None else {"reason": reason, "lines": list(lines)}
