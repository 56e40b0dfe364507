"""From which weight on what stays would go, where a yard pays less from a weight on: every gram is tried."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from tests.core.haul.falling import HUMP, ON_THE_LINE, falling
from tests.core.haul.hauls import allowed, every, must_go
from tests.core.haul.test_best import SECONDS, hold, reckoned, with_weight

from gradewright.core.haul.best import best
from gradewright.core.haul.found import CannotAllGo, GoesFrom
from gradewright.core.haul.plan import Haul

MANY = 60
"""Grams beyond any from-weight, a little."""


def hold_every_gram(haul: Haul) -> None:
    """What is told to go from a weight on goes at no gram before it, and where none is told, at none."""
    must = must_go(haul)
    if not any(allowed(haul, each.plan, must) for each in every(haul)):
        with pytest.raises(CannotAllGo):
            best(haul, SECONDS)
        return
    told = best(haul, SECONDS)
    found = reckoned(haul, told.best.plan)
    for lot, goes in told.goes_from.items():
        assert goes is None or (goes.proved and goes.grams is not None)
        own = haul.lots[lot].grams
        ends = goes.grams if goes is not None and goes.grams is not None else MANY
        lighter = range(-(-own.numerator // own.denominator), min(ends, 2 * MANY))
        assert all(with_weight(haul, found, lot, grams) <= found.worth for grams in lighter)
        if goes is not None:
            assert with_weight(haul, found, lot, ends) > found.worth


@given(falling())
@settings(max_examples=40, deadline=None)
def test_it_goes_at_no_gram_before(haul: Haul) -> None:
    """However the prices rise and fall."""
    hold_every_gram(haul)


@given(falling(times=10**8))
@settings(max_examples=40, deadline=None)
def test_it_goes_at_no_gram_before_at_large_amounts(haul: Haul) -> None:
    """And where a gram is paid hundreds of millions, that differ by one or two."""
    hold_every_gram(haul)


@given(falling())
@settings(max_examples=40, deadline=None)
def test_no_plan_is_better_where_prices_fall(haul: Haul) -> None:
    """The plan and the second choice, of the same."""
    hold(haul)


@pytest.mark.campaign
@given(falling())
@settings(max_examples=3_000, deadline=None)
def test_it_goes_at_no_gram_before_in_a_long_run(haul: Haul) -> None:
    """The same, thousands of times."""
    hold(haul)
    hold_every_gram(haul)


@pytest.mark.campaign
@given(falling(times=10**8))
@settings(max_examples=3_000, deadline=None)
def test_it_goes_at_no_gram_before_at_large_amounts_in_a_long_run(haul: Haul) -> None:
    """The same, thousands of times."""
    hold(haul)
    hold_every_gram(haul)


@pytest.mark.parametrize(
    ("haul", "lot", "before"), [(HUMP, 3, 28_156), (ON_THE_LINE, 3, 11_296)], ids=["hump", "on the line"]
)
def test_a_pile_that_only_seems_to_be_paid_a_price_hides_none_that_is(
    haul: Haul, lot: int, before: int
) -> None:
    """A pile that is paid less from a later step on than where it was counted, and one that a margin lets in
    exactly where the price falls: another plan takes what stays at less, and none at a gram less than that.
    """
    told = best(haul, SECONDS)
    goes, found = told.goes_from[lot], reckoned(haul, told.best.plan)
    assert goes is not None
    assert goes.grams is not None
    assert goes.proved
    assert goes.grams < before
    assert with_weight(haul, found, lot, goes.grams) > told.best.worth
    for less in (1, 2, 3, 10, 100, 1000):
        assert with_weight(haul, found, lot, goes.grams - less) <= told.best.worth


@pytest.mark.parametrize(("haul", "lot"), [(HUMP, 3), (ON_THE_LINE, 3)], ids=["hump", "on the line"])
def test_earlier_methods_told_what_they_told(haul: Haul, lot: int) -> None:
    """By method 4 more was told to be needed, and to be proved."""
    now, then = best(haul, SECONDS).goes_from[lot], best(haul, SECONDS, rough=True).goes_from[lot]
    assert now is not None
    assert isinstance(then, GoesFrom)
    assert then.proved
    assert Fraction(then.grams or 0) > Fraction(now.grams or 0)
