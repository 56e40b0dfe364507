"""Weighted quartiles against numpy's weighted inverted distribution function.

Source of the definition: Hyndman & Fan, "Sample Quantiles in Statistical Packages", The American Statistician
50(4), 1996, definition 1; reference: numpy.quantile(..., weights=..., method="inverted_cdf").
"""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest

from gradewright.core.consensus import quantile
from gradewright.core.rates import Rate

GRAMS = Decimal(1000)


@pytest.mark.parametrize("share", ["0.25", "0.5", "0.75"])
@pytest.mark.parametrize("seed", range(20))
def test_quartiles_are_numpys(seed: int, share: str) -> None:
    """For random prices and weights (eighths, which binary floats hold exactly) the figure is numpy's."""
    random = np.random.default_rng(seed)
    size = int(random.integers(1, 12))
    prices = [int(cents) for cents in random.integers(50, 600, size)]
    eighths = [int(n) for n in random.integers(1, 40, size)]
    ours = quantile(
        [(Rate(Decimal(p).scaleb(-2), GRAMS), Decimal(w) / 8) for p, w in zip(prices, eighths, strict=True)],
        Decimal(share),
    )
    theirs = np.quantile(np.array(prices), float(share), weights=np.array(eighths) / 8, method="inverted_cdf")
    assert ours.price * 100 == int(theirs)
