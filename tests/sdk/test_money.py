"""Money: exact, and within one currency."""

from __future__ import annotations

from decimal import Decimal, localcontext

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradewright_sdk import GradewrightError, MixedCurrencies, Money

amounts = st.decimals(allow_nan=False, allow_infinity=False, min_value=-(10**15), max_value=10**15, places=4)
currencies = st.sampled_from(["USD", "EUR", "JPY", "CAD"])
moneys = st.builds(Money, amounts, currencies)


@given(moneys, moneys)
def test_money_never_mixes(one: Money, other: Money) -> None:
    """Adding, subtracting and ordering give a result in that currency, or raise when there are two."""
    if one.currency == other.currency:
        assert (one + other).currency == (one - other).currency == one.currency
        assert one + other - other == one
        assert (one < other) == (one.amount < other.amount)
        assert (one >= other) == (one.amount >= other.amount)
        return
    assert one != other
    for doing in (
        lambda: one + other,
        lambda: one - other,
        lambda: one < other,
        lambda: one <= other,
        lambda: one > other,
        lambda: one >= other,
        lambda: Money.total([one, other], one.currency),
    ):
        with pytest.raises(MixedCurrencies):
            doing()


@given(st.lists(amounts, max_size=30))
def test_total_is_the_exact_sum(values: list[Decimal]) -> None:
    """A total is the exact sum, whatever the program has set as its decimal precision."""
    with localcontext(prec=3):
        total = Money.total([Money(value, "USD") for value in values], "USD")
    with localcontext(prec=100):
        assert total == Money(sum(values, Decimal(0)), "USD")


@given(amounts, st.integers(-1000, 1000))
def test_times_a_number(amount: Decimal, times: int) -> None:
    """Times a whole number or a Decimal it stays in its currency, exactly."""
    with localcontext(prec=100):
        expected = amount * times
    assert Money(amount, "USD") * times == Money(expected, "USD") == times * Money(amount, "USD")
    assert Money(amount, "USD") * Decimal(times) == Money(expected, "USD")


@given(amounts)
def test_minus_keeps_every_digit(amount: Decimal) -> None:
    """The negative has the same digits, whatever the precision set."""
    with localcontext(prec=2):
        assert (-Money(amount, "USD")).amount == amount.copy_negate()


@pytest.mark.parametrize("other", [0, 1.5, Decimal(1), "1 USD", None])
def test_money_and_a_bare_number_do_not_add(other: object) -> None:
    """A number without a currency is not added: nobody knows what it counts."""
    with pytest.raises(TypeError):
        Money(Decimal(1), "USD") + other  # type: ignore[operator]


@pytest.mark.parametrize("times", [1.5, True, Money(Decimal(1), "USD")])
def test_money_is_not_multiplied_by_floats(times: object) -> None:
    """Times a float, a truth value or money is refused."""
    with pytest.raises(TypeError):
        Money(Decimal(1), "USD") * times  # type: ignore[operator]


@pytest.mark.parametrize("amount", [3.35, 3, "3.35"])
def test_amount_is_a_decimal(amount: object) -> None:
    """Anything but a Decimal is refused, floats above all."""
    with pytest.raises(TypeError, match="Decimal"):
        Money(amount, "USD")  # type: ignore[arg-type]


@pytest.mark.parametrize("amount", ["NaN", "Infinity", "-Infinity", "sNaN"])
def test_amount_is_finite(amount: str) -> None:
    """Not-a-number and infinity are no amounts."""
    with pytest.raises(ValueError, match="finite"):
        Money(Decimal(amount), "USD")


@pytest.mark.parametrize("currency", ["usd", "US", "USDX", "U5D", "", "ÜSD"])
def test_currency_is_three_capital_letters(currency: str) -> None:
    """A currency is three ASCII capitals."""
    with pytest.raises(ValueError, match="three capital letters"):
        Money(Decimal(1), currency)


def test_text() -> None:
    """As text it has its digits as given, without an exponent, and its currency."""
    assert str(Money(Decimal("3.50"), "USD")) == "3.50 USD"
    assert str(Money(Decimal("1E+3"), "USD")) == "1000 USD"


def test_truth() -> None:
    """Zero is false, anything else true."""
    assert not Money(Decimal("0.00"), "USD")
    assert Money(Decimal("-0.01"), "USD")


def test_mixing_is_an_error_of_the_package() -> None:
    """Mixing currencies can be caught as GradewrightError and as ValueError, and says what to do."""
    assert issubclass(MixedCurrencies, GradewrightError)
    assert issubclass(MixedCurrencies, ValueError)
    with pytest.raises(MixedCurrencies, match="one total for each currency"):
        Money(Decimal(1), "USD") + Money(Decimal(1), "EUR")
