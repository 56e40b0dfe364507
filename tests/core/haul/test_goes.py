"""From which weight on what stays would go, where a yard pays less from a weight on: every gram is tried."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from tests.core.haul.contrary import bins
from tests.core.haul.falling import HUMP, ON_THE_LINE, falling
from tests.core.haul.hauls import allowed, every, must_go
from tests.core.haul.test_best import SECONDS, hold, reckoned, with_weight

from gradewright.core.haul.best import best
from gradewright.core.haul.found import CannotAllGo, GoesFrom
from gradewright.core.haul.goes import goes
from gradewright.core.haul.plan import Haul
from gradewright.core.haul.solver import Guard

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
    for lot, told_of in told.goes_from.items():
        assert told_of is None or (told_of.proved and told_of.grams is not None)
        own = haul.lots[lot].grams
        ends = told_of.grams if told_of is not None and told_of.grams is not None else MANY
        lighter = range(-(-own.numerator // own.denominator), min(ends, 2 * MANY))
        assert all(with_weight(haul, found, lot, grams) <= found.worth for grams in lighter)
        if told_of is not None:
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
    told_of, found = told.goes_from[lot], reckoned(haul, told.best.plan)
    assert told_of is not None
    assert told_of.grams is not None
    assert told_of.proved
    assert told_of.grams < before
    assert with_weight(haul, found, lot, told_of.grams) > told.best.worth
    for less in (1, 2, 3, 10, 100, 1000):
        assert with_weight(haul, found, lot, told_of.grams - less) <= told.best.worth


@pytest.mark.parametrize(("haul", "lot"), [(HUMP, 3), (ON_THE_LINE, 3)], ids=["hump", "on the line"])
def test_earlier_methods_told_what_they_told(haul: Haul, lot: int) -> None:
    """By method 4 more was told to be needed, and to be proved."""
    now, then = best(haul, SECONDS).goes_from[lot], best(haul, SECONDS, rough=True).goes_from[lot]
    assert now is not None
    assert isinstance(then, GoesFrom)
    assert then.proved
    assert Fraction(then.grams or 0) > Fraction(now.grams or 0)


def test_what_is_paid_less_at_last_is_not_gone_through_pile_by_pile() -> None:
    """Where many piles rise to a better price and on to a lower one, they are not looked at one by one: there
    is as little to do as the work of a second is, six bins of which all stay.
    """
    lots = bins((40, "ab"), (39.5, "ab"), (39, "ab"), (38.5, "ab"), (38, "ab"), (16, "b"))
    haul = replace(HUMP, lots=lots, costs=replace(HUMP.costs, trip=9_999))
    assert goes(haul, (None,) * 6, 0, 1.0, Guard())[0] == GoesFrom(202_126, True)
