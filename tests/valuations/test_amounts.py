"""Amounts as answers write them."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradewright.core.money import minor_as_decimal
from gradewright.core.rates import Amount
from gradewright.valuations.amounts import amount_shown, amount_text, cents_of, spelled

MINOR = st.integers(-(10**18), 10**18)
CODES = st.sampled_from(["JPY", "USD", "KWD", "CLF"])


@given(MINOR, MINOR, MINOR, CODES)
def test_an_amount_is_written_in_the_places_of_its_currency(
    low: int, likely: int, high: int, code: str
) -> None:
    """Text, and text inside JSON, is what the decimal of the same minor units is; charges have a minus."""
    amount, cents = Amount(low, likely, high), cents_of(code)
    expected = {name: str(minor_as_decimal(minor, code)) for name, minor in amount._asdict().items()}
    assert amount_shown(amount, cents) == json.loads(amount_text(amount, cents)) == expected


@pytest.mark.parametrize(
    ("minor", "code", "written"),
    [
        (5, "USD", "0.05"),
        (-5, "USD", "-0.05"),
        (335, "JPY", "335"),
        (1005, "KWD", "1.005"),
        (0, "USD", "0.00"),
    ],
)
def test_an_amount_in_digits(minor: int, code: str, written: str) -> None:
    """Cents, yen and fils as they are read."""
    assert spelled(minor, cents_of(code)) == written


def test_an_amount_that_is_not_there() -> None:
    """No amount is null, which is not zero."""
    assert amount_text(None, cents_of("USD")) == "null"
