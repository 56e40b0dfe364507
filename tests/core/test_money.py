"""Money: one currency at a time, exact until it is rounded once, by a named rule."""

from __future__ import annotations

from decimal import Decimal, localcontext
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradewright.core.errors import CurrencyError
from gradewright.core.money import (
    MINOR_UNITS,
    Money,
    Rounding,
    amount_for,
    currency,
    round_cash,
    round_money,
    total,
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
    """Price times mass, rounded, is what whole-number arithmetic gives for the exact quotient."""
    exact = Fraction(price) * Fraction(grams) / Fraction(per_grams)
    step = Fraction(1, 10 ** MINOR_UNITS[code])
    amount = round_money(amount_for(price, per_grams, grams), code, rule)
    assert Fraction(amount) == rounded_by_fractions(exact, step, rule)
    assert amount.as_tuple().exponent == -MINOR_UNITS[code]


@given(st.integers(0, 10**9), UNITS, st.integers(-1, 1), st.integers(1, 17), RULES)
def test_ties_and_their_neighbours_fall_the_right_way(
    half_cents: int, per_grams: Decimal, nudge: int, depth: int, rule: Rounding
) -> None:
    """An amount at a half cent, or the smallest writable step beside it, is rounded as whole numbers say."""
    price = (2 * half_cents + 1) * Decimal("0.005") + nudge * Decimal(1).scaleb(-depth - 3)
    amount = round_money(amount_for(price, per_grams, per_grams), "USD", rule)
    assert Fraction(amount) == rounded_by_fractions(Fraction(price), Fraction(1, 100), rule)


@given(written(12), UNITS, UNITS, st.integers(1, 1000))
def test_an_amount_grows_with_the_mass(price: Decimal, per: Decimal, grams: Decimal, times: int) -> None:
    """So many times the mass is so many times the amount, to the last of ninety digits."""
    once, often = amount_for(price, per, grams), amount_for(price, per, grams * times)
    assert abs(Fraction(often) - times * Fraction(once)) <= Fraction(often) / 10**90


@given(CENTS, st.sampled_from(["0.01", "0.05", "0.10", "0.50", "1", "0.03"]), RULES)
def test_cash_is_the_nearest_step_by_the_rule(amount: Decimal, step: str, rule: Rounding) -> None:
    """A cash total is what whole-number arithmetic gives, a multiple of the step and less than one away."""
    cash = round_cash(amount, Decimal(step), rule)
    assert Fraction(cash) == rounded_by_fractions(Fraction(amount), Fraction(step), rule)
    assert Fraction(cash) % Fraction(step) == 0
    assert abs(cash - amount) < Decimal(step)
    assert not (cash.is_zero() and cash.is_signed())


@given(st.lists(CENTS, max_size=30))
def test_a_total_is_the_sum_of_its_lines(amounts: list[Decimal]) -> None:
    """Lines add up to their total exactly, in any order."""
    lines = [Money(amount, "USD") for amount in amounts]
    assert total(lines, "USD") == total(reversed(lines), "USD") == Money(sum(amounts, Decimal(0)), "USD")


def test_no_lines_are_worth_nothing_in_their_currency() -> None:
    """The total of no lines is zero, written with the currency's decimals."""
    assert str(total([], "USD")) == "0.00 USD"
    assert str(total([], "JPY")) == "0 JPY"


def test_money_adds_subtracts_and_turns_round() -> None:
    """Sums and differences keep their digits; nothing is rounded by adding."""
    one, other = Money(Decimal("1.005"), "USD"), Money(Decimal("2.30"), "USD")
    assert one + other == Money(Decimal("3.305"), "USD")
    assert one - other == Money(Decimal("-1.295"), "USD")
    assert -one == Money(Decimal("-1.005"), "USD")
    assert (one + other).rounded() == Money(Decimal("3.30"), "USD")
    assert (one + other).rounded(Rounding.HALF_UP) == Money(Decimal("3.31"), "USD")
    assert str(-other) == "-2.30 USD"


def test_money_compares_within_a_currency() -> None:
    """Amounts of one currency are ordered by their size, whatever their zeros."""
    less, more = Money(Decimal("2.3"), "USD"), Money(Decimal("2.31"), "USD")
    assert less < more
    assert more > less
    assert less <= Money(Decimal("2.30"), "USD") <= more
    assert more >= less
    assert less == Money(Decimal("2.30"), "USD")
    assert less != Money(Decimal("2.30"), "CAD")


@pytest.mark.parametrize("operation", ["__add__", "__sub__", "__lt__", "__le__", "__gt__", "__ge__"])
def test_two_currencies_do_not_mix(operation: str) -> None:
    """Adding or comparing two currencies is an error that says so, never a conversion."""
    with pytest.raises(CurrencyError, match="two currencies: nothing is converted"):
        getattr(Money(Decimal(1), "USD"), operation)(Money(Decimal(1), "CAD"))
    with pytest.raises(CurrencyError, match="two currencies"):
        total([Money(Decimal(1), "USD"), Money(Decimal(1), "CAD")], "USD")


def test_money_does_not_mix_with_numbers() -> None:
    """A bare number has no currency: adding one is a mistake in the program."""
    with pytest.raises(TypeError, match="not with int"):
        Money(Decimal(1), "USD") + 1  # type: ignore[operator]


@pytest.mark.parametrize("amount", [1.5, 1, "1.5", None, Decimal("NaN"), Decimal("Infinity")])
def test_money_is_a_finite_decimal(amount: object) -> None:
    """A float, a whole number of another type or an endless amount cannot become money."""
    with pytest.raises(CurrencyError, match="not an exact amount"):
        Money(amount, "USD")  # type: ignore[arg-type]


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
        Money(Decimal(1), code)  # type: ignore[arg-type]
    with pytest.raises(CurrencyError):
        round_money(Decimal(1), code)  # type: ignore[arg-type]


@pytest.mark.parametrize("step", ["0", "-0.05", "NaN", "Infinity"])
def test_a_cash_step_is_above_zero(step: str) -> None:
    """A step of nothing, or less, is refused with what to write."""
    with pytest.raises(CurrencyError, match="write an amount above zero"):
        round_cash(Decimal("1.00"), Decimal(step))


def test_less_than_half_a_cent_is_nothing() -> None:
    """What rounds to zero is zero without a sign."""
    assert str(round_money(Decimal("-0.004"), "USD")) == "0.00"
    assert str(round_cash(Decimal("-0.02"), Decimal("0.05"))) == "0.00"


def test_no_amount_depends_on_the_context_of_the_thread() -> None:
    """With three digits of precision and another rounding set for the thread, amounts are the same."""
    arguments = Decimal("3.35"), MASS_UNITS["lb"].grams, Decimal("12417.09112875")
    expected = amount_for(*arguments)
    with localcontext() as context:
        context.prec = 3
        context.rounding = "ROUND_UP"
        assert amount_for(*arguments) == expected == Decimal("91.70625")
        assert round_money(expected, "USD") == Decimal("91.71")
        assert round_cash(Decimal("12391.71"), Decimal("0.05")) == Decimal("12391.70")
        assert Money(Decimal("12391.71"), "USD") + Money(Decimal("0.01"), "USD") == Money(
            Decimal("12391.72"), "USD"
        )
        assert -Money(Decimal("12391.71"), "USD") == Money(Decimal("-12391.71"), "USD")
