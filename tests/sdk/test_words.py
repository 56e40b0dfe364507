"""Later words about postings through the SDK, against the stand-in: what is read, and what a refusal is."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

import gradewright_sdk as gw
from gradewright_sdk import Client, Money
from gradewright_sdk.testing import FakeGradewright, samples


def test_a_price_that_waits(fake: FakeGradewright, client: Client) -> None:
    """What holds a price is money for a kilogram and exact numbers; the posting lists those that wait."""
    prices = [samples.posted_price(), samples.held_price(line=2)]
    fake.answer("GET", "/v1/postings/p-1", samples.posting(prices=prices))
    posting = client.postings.get("p-1")
    assert [price.status for price in posting.prices] == ["counts", "held"]
    (waits,) = posting.held
    assert (waits.line, waits.price) == (2, Money(Decimal("33.0"), "USD"))
    assert waits.held is not None
    assert waits.held.median == Money(Decimal("7.275255"), "USD")
    assert (waits.held.because, waits.held.score, waits.held.yards) == ("far-off", Decimal("200.50"), 3)


def test_a_disputed_price_has_no_figures(fake: FakeGradewright, client: Client) -> None:
    """A price that members dispute waits without median, spread and score."""
    held = {"because": "disputed", "median": None, "spread": None, "score": None, "yards": 0, "says": "No."}
    waiting = samples.posting(prices=[samples.held_price(held=held)])
    fake.answer("GET", "/v1/held-prices", samples.held_prices(waiting))
    (posting,) = client.postings.held("XO-KEL").postings
    found = posting.prices[0].held
    assert found is not None
    assert (found.median, found.spread, found.score, found.says) == (None, None, None, "No.")


def test_words_of_a_posting(fake: FakeGradewright, client: Client) -> None:
    """What was said later is told in order, each with who, when, why and of which lines."""
    words = [samples.later_word("dispute"), samples.later_word("decision", revision=315, lines=[1, 2])]
    fake.answer("GET", "/v1/postings/p-1", samples.posting(words=words, withheld=2))
    posting = client.postings.get("p-1")
    assert [(word.kind, word.lines, word.verdict) for word in posting.words] == [
        ("dispute", (1,), None),
        ("decision", (1, 2), "accepted"),
    ]
    assert posting.words[0].recorded_at.utcoffset() is not None
    assert posting.withheld == 2


def test_an_older_service(fake: FakeGradewright, client: Client) -> None:
    """A posting of a service that knows no later words is read: its prices count, nothing was said."""
    old = samples.posting()
    for name in ("words", "withheld", "next_line"):
        del old[name]
    for name in ("status", "held"):
        del old["prices"][0][name]
    fake.answer("GET", "/v1/postings/p-1", old)
    posting = client.postings.get("p-1")
    assert (posting.prices[0].status, posting.held, posting.words, posting.withheld) == ("counts", (), (), 0)


def test_a_stored_word_and_a_correction(fake: FakeGradewright, client: Client) -> None:
    """What was stored comes back, byte for byte too."""
    fake.answer("POST", "/v1/postings/p-1/withdrawal", samples.word_stored(lines=[1, 3]), status=201)
    fake.answer("POST", "/v1/postings/p-1/correction", samples.correction(), status=201)
    said = client.postings.withdraw("p-1", reason="a slip")
    assert (said.posting, said.revision, said.lines) == ("p-1", 314, (1, 3))
    assert b'"withdrawal"' in said.raw
    corrected = client.postings.correct("p-1", [{"grade": "x"}], reason="a slip")
    assert (corrected.withdrawal.posting, corrected.posting.id) == ("p-1", "p-2")
    assert corrected.withdrawal.revision == corrected.posting.revision == 314


SAYS: dict[str, Callable[[Any], Any]] = {
    "withdrawal": lambda c: c.postings.withdraw("p-1", reason="x"),
    "confirmation": lambda c: c.postings.confirm("p-1", reason="x"),
    "dispute": lambda c: c.postings.dispute("p-1", reason="x"),
    "decision": lambda c: c.postings.decide("p-1", "accepted", reason="x"),
    "correction": lambda c: c.postings.correct("p-1", [], reason="x"),
}
KINDS = [
    ("forbidden", gw.Forbidden),
    ("conflict", gw.Conflict),
    ("not-found", gw.NotFound),
    ("invalid-request", gw.InvalidRequest),
    ("unauthorized", gw.Unauthorized),
]


@pytest.mark.parametrize("kind", SAYS)
@pytest.mark.parametrize(("slug", "error"), KINDS)
async def test_refusals_are_typed(
    fake: FakeGradewright, client: Client, kind: str, slug: str, error: type[gw.APIError]
) -> None:
    """A refused word is an error of its kind that points at the lines, in both clients."""
    faults = [{"detail": "Line 3 was taken back.", "pointer": "#/lines/0"}]
    fake.problem("POST", f"/v1/postings/p-1/{kind}", slug, "Line 3 was taken back.", errors=faults)
    with pytest.raises(error, match="Line 3 was taken back") as caught:
        SAYS[kind](client)
    assert caught.value.errors[0].pointer == "#/lines/0"
    async with fake.async_client() as other:
        with pytest.raises(error):
            await SAYS[kind](other)


@pytest.mark.parametrize("id", ["", ".", ".."])
def test_an_id_leads_nowhere_else(fake: FakeGradewright, client: Client, id: str) -> None:
    """What cannot be an id is refused before anything is sent."""
    for call in (client.postings.withdraw, client.postings.confirm, client.postings.dispute):
        with pytest.raises(ValueError, match="cannot be the name"):
            call(id, reason="x")
    assert not fake.requests
