"""What is measured of predictions, and how sure the share between low and high is."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from scipy.stats import binomtest

from gradewright.core.backtest import Case, comparable, interval, measure
from gradewright.core.consensus import Quote
from gradewright.core.rates import Rate


@pytest.mark.parametrize(
    ("inside", "cases"), [(0, 1), (1, 1), (0, 7), (7, 7), (3, 4), (180, 290), (828, 1393), (5000, 10_000)]
)
def test_the_interval_is_wilsons(inside: int, cases: int) -> None:
    """As scipy works it out, at 95 %; never below 0 nor above 1."""
    published = binomtest(inside, cases).proportion_ci(0.95, method="wilson")
    found = [float(end) for end in interval(inside, cases)]
    assert found == pytest.approx([published.low, published.high], abs=0.00006)


def case(paid: str, low: str = "3.00", high: str = "4.00") -> Case:
    """A price and what was predicted for it: 3.50 between a low and a high, and 3.20 before."""
    day, grams = date(2026, 5, 4), Decimal(1000)
    rates = [Rate(Decimal(price), grams) for price in (low, "3.50", high)]
    quote = Quote(*rates, yards=3, entries=3, newest=day, oldest=day, thin=False)
    paid_then, before = (Rate(Decimal(price), grams) for price in (paid, "3.20"))
    return Case("copper-no2", "low-quay", day, paid_then, before, quote, quote)


@pytest.mark.parametrize(
    ("paid", "inside"),
    [("3.00", "1"), ("4.0", "1"), ("2.999999", "0"), ("4.000001", "0"), ("3.5", "1")],
)
def test_a_price_at_the_end_of_the_span_lies_in_it(paid: str, inside: str) -> None:
    """Low and high are prices that somebody saw, and are often seen again."""
    figures = measure([case(paid)])
    assert figures is not None
    assert [each.within for each in figures.methods] == [None, Decimal(inside), Decimal(inside)]


def test_a_price_of_nothing_is_measured_by_no_method() -> None:
    """There is no error as a share of it."""
    assert comparable([case("0.00"), case("3.50")]) == [case("3.50")]
    assert measure(comparable([case("0.00")])) is None
