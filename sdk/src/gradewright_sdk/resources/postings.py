"""Postings: prices seen at one yard on one day."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING

import gradewright_sdk as results
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
    new_key,
    sync,
    sync_pages,
)
from gradewright_sdk._inputs import PriceSeen, as_mapping
from gradewright_sdk._problems import parse_json
from gradewright_sdk._reading import reads, reads_list
from gradewright_sdk.resources._words import (
    confirm_posting,
    correct_posting,
    decide_posting,
    dispute_posting,
    held_prices,
    withdraw_posting,
)

if TYPE_CHECKING:
    from gradewright_sdk._models import PostedPrice, Posting


def create_posting(
    yard: str,
    *,
    observed_on: date | str,
    evidence: str,
    prices: Sequence[PriceSeen | Mapping[str, object]],
    note: str | None = None,
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[Posting]:
    """Post prices seen at a yard (members). `evidence` is ticket, written-list, sign or told. All are stored
    or none.

    Sent again by the SDK only under the same Idempotency-Key; pass your own to be able to repeat it yourself.
    """
    body = {
        "yard": yard,
        "observed_on": _wire.day_text(observed_on, "observed_on"),
        "evidence": evidence,
        "prices": _wire.with_amounts([as_mapping(one) for one in prices], "prices"),
    }
    if note is not None:
        body["note"] = note
    return Call(
        "POST",
        _wire.path("postings"),
        reads(lambda: results.Posting),
        body=body,
        writes=True,
        idempotency_key=new_key(idempotency_key),
        timeout=timeout,
    )


def get_posting(
    id: str,
    *,
    on: date | str | None = None,
    known_at: int | datetime | str | None = None,
    from_line: int | None = None,
    timeout: float | None = None,
) -> Call[Posting]:
    """One posting as it stands on a day (today), with what was said of it later, as known at a revision or an
    instant (now): at most 500 of its prices, from a line on. Raises NotFound, also where it was not there
    yet, and InvalidRequest for a day before it was seen.

    With the key of its author, of a maintainer or of who has confirmed or disputed them it has the prices
    that wait, and why.
    """
    query = _wire.query(
        on=None if on is None else _wire.day_text(on, "on"),
        known_at=None if known_at is None else _wire.known_at_wire(known_at),
        from_line=from_line,
    )
    return Call(
        "GET", _wire.path("postings", id), reads(lambda: results.Posting), query=query, timeout=timeout
    )


def posting_prices(id: str, *, timeout: float | None = None) -> Pages[PostedPrice]:
    """All prices of a posting, however long; pages are fetched as they are needed. `timeout` is per page."""

    def after(cursor: str | None) -> Call[Page[PostedPrice]]:
        query = _wire.query(from_line=cursor)
        return Call("GET", _wire.path("postings", id), _read_prices, query=query, timeout=timeout)

    return Pages(after)


def _read_prices(answer: Answer) -> Page[PostedPrice]:
    posting = reads(lambda: results.Posting)(answer)
    return Page(posting.prices, None if posting.next_line is None else str(posting.next_line))


def list_postings(
    *,
    yard: str | None = None,
    region: str | None = None,
    page_size: int | None = None,
    timeout: float | None = None,
) -> Pages[Posting]:
    """All postings, newest first, of a yard or a region if given; pages are fetched as they are needed.

    What is posted meanwhile does not appear: the pages are those of the revision at the first. `timeout` is
    per page.
    """

    def after(cursor: str | None) -> Call[Page[Posting]]:
        query = _wire.query(yard=yard, region=region, limit=page_size, cursor=cursor)
        return Call("GET", _wire.path("postings"), _read_page, query=query, timeout=timeout)

    return Pages(after)


def _read_page(answer: Answer) -> Page[Posting]:
    items = reads_list(lambda: results.Posting, "postings")(answer)
    cursor = parse_json(answer).get("next")
    return Page(items, None if cursor is None else str(cursor))


class Postings(Resource):
    """Postings: prices seen at one yard on one day."""

    create = sync(create_posting)
    get = sync(get_posting)
    prices = sync_pages(posting_prices)
    list = sync_pages(list_postings)
    withdraw = sync(withdraw_posting)
    confirm = sync(confirm_posting)
    dispute = sync(dispute_posting)
    decide = sync(decide_posting)
    correct = sync(correct_posting)
    held = sync(held_prices)


class AsyncPostings(AsyncResource):
    """Postings: prices seen at one yard on one day."""

    create = asynchronous(create_posting)
    get = asynchronous(get_posting)
    prices = asynchronous_pages(posting_prices)
    list = asynchronous_pages(list_postings)
    withdraw = asynchronous(withdraw_posting)
    confirm = asynchronous(confirm_posting)
    dispute = asynchronous(dispute_posting)
    decide = asynchronous(decide_posting)
    correct = asynchronous(correct_posting)
    held = asynchronous(held_prices)
