"""Money and minutes as they are handed in: whole numbers, Decimals and text alike, and never floats."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

from gradewright_sdk import Client, PriceSeen
from gradewright_sdk.testing import FakeGradewright, samples

PLACE: dict[str, Any] = {"region": "XO-KEL"}
DEVICE = {"name": "motor", "weight": "2 kg", "grade": "tin"}
LINE = {"label": "#2 Cu", "net": "12 lb", "amount": "37.20"}
CALLS: dict[str, tuple[str, Callable[[Client, Any], object]]] = {
    "hour_rate": (
        "/v1/teardowns",
        lambda c, amount: c.teardowns.of("treadmill", "70 kg", hour_rate=amount, **PLACE),
    ),
    "device['opens']['minutes']": (
        "/v1/teardowns",
        lambda c, amount: c.teardowns.plan(
            {**DEVICE, "opens": {"minutes": amount}, "parts": [DEVICE]}, hour_rate=3, **PLACE
        ),
    ),
    "costs['trip']": (
        "/v1/hauls",
        lambda c, amount: c.hauls.plan([{"grade": "tin", "weight": "1 kg"}], trip_cost=amount, **PLACE),
    ),
    "prices[0]['price']": (
        "/v1/postings",
        lambda c, amount: c.postings.create(
            "low-quay",
            observed_on="2026-05-04",
            evidence="sign",
            prices=[PriceSeen(amount, "USD", "lb", "tin")],
        ),
    ),
    "['ticket']['lines'][0]['price']": (
        "/v1/settlements",
        lambda c, amount: c.settlements.settle(
            "low-quay",
            {"on": "2026-05-04", "lines": [{**LINE, "price": amount}], "total": 37},
            bins=[{"grade": "tin", "weight": "12 lb"}],
        ),
    ),
}


@pytest.fixture
def any_answer(fake: FakeGradewright) -> FakeGradewright:
    for room, one in {"teardowns": "teardown", "hauls": "haul", "settlements": "settlement"}.items():
        fake.answer("POST", f"/v1/{room}", getattr(samples, one)())
    fake.answer("POST", "/v1/postings", samples.posting(), status=201)
    return fake


@pytest.mark.parametrize("at", CALLS)
def test_a_whole_number_is_an_amount(any_answer: FakeGradewright, client: Client, at: str) -> None:
    """An int, a Decimal and text are sent as the same text, wherever money or minutes are taken."""
    path, call = CALLS[at]
    for amount in (12, Decimal(12), "12"):
        call(client, amount)
    sent = [one.json for one in any_answer.requests if one.path == path]
    assert sent[0] == sent[1] == sent[2]
    assert '"12"' in str(sent[0]).replace("'", '"')


@pytest.mark.parametrize("at", CALLS)
def test_a_float_is_no_amount(any_answer: FakeGradewright, client: Client, at: str) -> None:
    """A float is refused before anything is sent, with its place."""
    _, call = CALLS[at]
    with pytest.raises(TypeError, match=r"is the float 12\.5") as refused:
        call(client, 12.5)
    assert at in str(refused.value)
    assert not any_answer.requests


def test_counts_and_what_was_observed_stay_numbers(any_answer: FakeGradewright, client: Client) -> None:
    """Only amounts become text: a count stays a number, as does whatever was observed."""
    device = {**DEVICE, "count": 2, "observed": {"made_year": 1940, "minutes": 3}}
    client.teardowns.plan(device, hour_rate=3, **PLACE)
    sent = any_answer.requests[-1].json["device"]
    assert (sent["count"], sent["observed"]) == (2, {"made_year": 1940, "minutes": 3})
