"""How sure the share between low and high is."""

from __future__ import annotations

import pytest
from scipy.stats import binomtest

from gradewright.core.backtest import interval


@pytest.mark.parametrize(
    ("inside", "cases"), [(0, 1), (1, 1), (0, 7), (7, 7), (3, 4), (180, 290), (828, 1393), (5000, 10_000)]
)
def test_the_interval_is_wilsons(inside: int, cases: int) -> None:
    """As scipy works it out, at 95 %; never below 0 nor above 1."""
    published = binomtest(inside, cases).proportion_ci(0.95, method="wilson")
    found = [float(end) for end in interval(inside, cases)]
    assert found == pytest.approx([published.low, published.high], abs=0.00006)
