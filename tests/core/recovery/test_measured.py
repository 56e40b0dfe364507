"""Readings of scales and tapes with what they leave open."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gradewright.core.errors import UnitError
from gradewright.core.lengths import parse_length
from gradewright.core.recovery.cable import grams
from gradewright.core.recovery.measured import Faults, Range, exactly, reading, rounded_outwards, step_of

sizes = st.fractions(min_value=Fraction(1, 1000), max_value=1000, max_denominator=1000)


@pytest.mark.parametrize(
    ("text", "step"),
    [
        ("1.35 kg", "10"),
        ("850 g", "1"),
        ("12.40 g", "0.01"),
        ("2 lb 3 oz", "28.349523125"),
        ("1/2 lb", "226.796185"),
        ("1-1/4 lb", "113.3980925"),
        ("38 lb", "453.59237"),
    ],
)
def test_the_last_digit_is_the_step(text: str, step: str) -> None:
    """Where nobody says how fine the scale is, it is as fine as the last digit written."""
    assert step_of(text, grams) == Fraction(step)


def test_a_reading_is_half_a_step_to_either_side() -> None:
    """A scale of 5 g that shows 850 g has 847.5 to 852.5 g on it; what cannot be below zero is not."""
    assert reading("850 g", grams, "5 g") == Range(Fraction("847.5"), Fraction(850), Fraction("852.5"))
    assert reading("0 g", grams, "5 g").low == 0
    assert reading("0.30 mm", parse_length) == Range(Fraction("0.295"), Fraction("0.3"), Fraction("0.305"))


def test_a_measure_without_a_unit_is_refused() -> None:
    """What the reader of measures refuses is refused here in its words."""
    with pytest.raises(UnitError, match="no unit"):
        reading("850", grams)


@given(sizes, sizes, sizes, sizes, st.floats(0, 1), st.floats(0, 1))
@settings(max_examples=50)
def test_no_true_value_is_outside(
    a: Fraction, b: Fraction, c: Fraction, d: Fraction, x: float, y: float
) -> None:
    """Whatever two values in two ranges are, product, quotient and sum are within those of the ranges."""
    one, two = (Range(low, (low + high) / 2, high) for low, high in (sorted((a, b)), sorted((c, d))))
    first = one.low + (one.high - one.low) * Fraction(x)
    second = two.low + (two.high - two.low) * Fraction(y)
    for true, found in (
        (first * second, one.times(two)),
        (first / second, one.over(two)),
        (first + second, one.plus(two)),
    ):
        assert found.low <= true <= found.high
        assert found.low <= found.likely <= found.high


def test_rounding_loses_nothing() -> None:
    """Low is rounded down and high up, so that what was possible stays so; likely goes to the nearer."""
    third = exactly(Fraction(1, 3))
    assert rounded_outwards(third, 4) == (Decimal("0.3333"), Decimal("0.3333"), Decimal("0.3334"))
    assert rounded_outwards(exactly(Fraction("0.25")), 4) == (Decimal("0.2500"),) * 3


def test_all_faults_are_gathered() -> None:
    """A reading and its step are both looked at, each fault under its own name."""
    faults = Faults()
    assert faults.reading("850", grams, "weight", "5") is None
    assert [fault.at for fault in faults.found] == [("scale",), ("weight",)]
