"""Money: one currency at a time, exact until it is rounded once, by a named rule."""

from __future__ import annotations

from decimal import ROUND_DOWN, ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal, localcontext
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.core.amounts import amount, rounded

from gradewright.core.errors import CurrencyError
from gradewright.core.money import (
    MINOR_UNITS,
    TO_WHOLE,
    Rounding,
    currency,
    minor_as_decimal,
    minor_per_unit,
    round_cash,
)
from gradewright.core.units import MASS_UNITS

RULES = st.sampled_from(list(Rounding))
CODES = st.sampled_from(["JPY", "USD", "EUR", "KWD", "CLF"])
UNITS = st.sampled_from([unit.grams for unit in MASS_UNITS.values()])
CENTS = st.decimals(-(10**9), 10**9, places=2)


def rounded_by_fractions(exact: Fraction, step: Fraction, rule: Rounding) -> Fraction:
    """The same rounding by whole numbers only, which cannot lose anything."""
    steps, rest = divmod(abs(exact) / step, 1)
    up = {
        Rounding.HALF_EVEN: rest > Fraction(1, 2) or (rest == Fraction(1, 2) and steps % 2 == 1),
        Rounding.HALF_UP: rest >= Fraction(1, 2),
        Rounding.DOWN: False,
    }[rule]
    size = (steps + up) * step
    return -size if exact < 0 else size


def written(digits: int) -> st.SearchStrategy[Decimal]:
    """Numbers of at most so many digits, with the point anywhere."""
    return st.builds(
        lambda number, places: Decimal(number).scaleb(-places),
        st.integers(0, 10**digits - 1),
        st.integers(0, digits - 1),
    )


@given(written(20), UNITS, written(31), RULES, CODES)
def test_a_rounded_amount_is_the_exact_one_rounded(
    price: Decimal, per_grams: Decimal, grams: Decimal, rule: Rounding, code: str
) -> None:
    """Price times mass, rounded, is what fractions give for the exact quotient, in the currency's places."""
    exact = Fraction(price) * Fraction(grams) / Fraction(per_grams)
    step = Fraction(1, 10 ** MINOR_UNITS[code])
    paid = amount(price, per_grams, grams, code, rule)
    assert Fraction(paid) == rounded_by_fractions(exact, step, rule)
    assert paid.as_tuple().exponent == -MINOR_UNITS[code]


@given(st.integers(-(10**9), 10**9), UNITS, st.integers(-1, 1), st.integers(1, 17), RULES)
def test_ties_and_their_neighbours_fall_the_right_way(
    half_cents: int, per_grams: Decimal, nudge: int, depth: int, rule: Rounding
) -> None:
    """An amount at a half cent, or the smallest writable step beside it, is rounded as fractions say."""
    price = (2 * half_cents + 1) * Decimal("0.005") + nudge * Decimal(1).scaleb(-depth - 3)
    paid = amount(price, per_grams, per_grams, "USD", rule)
    assert Fraction(paid) == rounded_by_fractions(Fraction(price), Fraction(1, 100), rule)


@pytest.mark.parametrize("rule", list(Rounding))
@pytest.mark.parametrize("tenths", range(-30, 31))
def test_rounding_is_that_of_decimal(rule: Rounding, tenths: int) -> None:
    """Every tenth between -3 and 3 becomes the whole number that Python's decimal rounds it to."""
    mode = {Rounding.HALF_EVEN: ROUND_HALF_EVEN, Rounding.HALF_UP: ROUND_HALF_UP, Rounding.DOWN: ROUND_DOWN}
    assert TO_WHOLE[rule](tenths, 10) == int((Decimal(tenths) / 10).quantize(Decimal(1), mode[rule]))


@given(CENTS, st.sampled_from(["0.01", "0.05", "0.10", "0.50", "1", "0.03"]), RULES)
def test_cash_is_the_nearest_step_by_the_rule(amount: Decimal, step: str, rule: Rounding) -> None:
    """A cash total is what whole-number arithmetic gives, a multiple of the step and less than one away."""
    cash = round_cash(amount, Decimal(step), rule)
    assert Fraction(cash) == rounded_by_fractions(Fraction(amount), Fraction(step), rule)
    assert Fraction(cash) % Fraction(step) == 0
    assert abs(cash - amount) < Decimal(step)
    assert not (cash.is_zero() and cash.is_signed())


@pytest.mark.parametrize(
    ("code", "suggestion"),
    [("usd", "USD"), (" EUR", "EUR"), ("UDS", "USD"), ("US$", "USD"), ("\u20ac", "EUR")],
)
def test_a_slip_in_a_currency_code_is_named(code: str, suggestion: str) -> None:
    """A code in small letters, a slip of the pen or a sign is refused with the code that was meant first."""
    with pytest.raises(CurrencyError, match="did you mean") as refused:
        currency(code)
    assert refused.value.faults[0].suggestions[0] == suggestion


@pytest.mark.parametrize("code", ["", "Q", "DEM", "XAU", "\uff35\uff33\uff24", "USD\x00", None, 840])
def test_what_is_no_currency_is_refused_everywhere(code: object) -> None:
    """Withdrawn codes, metals, other scripts and what is no text are refused by every function."""
    with pytest.raises(CurrencyError):
        currency(code)
    with pytest.raises(CurrencyError):
        minor_per_unit(code)  # type: ignore[arg-type]  # what is no text is tried too


@pytest.mark.parametrize("step", ["0", "-0.05", "NaN", "Infinity"])
def test_a_cash_step_is_above_zero(step: str) -> None:
    """A step of nothing, or less, is refused with what to write."""
    with pytest.raises(CurrencyError, match="write an amount above zero"):
        round_cash(Decimal("1.00"), Decimal(step))


def test_less_than_half_a_cent_is_nothing() -> None:
    """What rounds to zero is zero without a sign."""
    assert str(rounded(Decimal("-0.004"), "USD")) == "0.00"
    assert str(round_cash(Decimal("-0.02"), Decimal("0.05"))) == "0.00"


def test_no_amount_depends_on_the_context_of_the_thread() -> None:
    """With three digits of precision and another rounding set for the thread, amounts are the same."""
    with localcontext() as context:
        context.prec = 3
        context.rounding = "ROUND_UP"
        paid = amount(Decimal("3.35"), MASS_UNITS["lb"].grams, Decimal("12417.09112875"), "USD")
        assert str(paid) == "91.71"  # 91.70625
        assert str(round_cash(Decimal("12391.71"), Decimal("0.05"))) == "12391.70"
        assert str(minor_as_decimal(1239171, "USD")) == "12391.71"
