"""Rates and the amounts that weights come to."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from hypothesis import example, given
from hypothesis import strategies as st
from tests.core.amounts import amount

from gradewright.core.money import Rounding, minor_as_decimal
from gradewright.core.rates import Payer, Rate, scale
from gradewright.core.units import MASS_UNITS

PRICES = st.integers(-(10**9), 10**9).map(lambda n: Decimal(n).scaleb(-4))
UNITS = st.sampled_from([unit.grams for unit in MASS_UNITS.values()])
RATES = st.builds(Rate, PRICES, UNITS)
WEIGHTS = st.integers(1, 10**10).map(lambda n: Decimal(n).scaleb(-5))
POUND = MASS_UNITS["lb"].grams


@given(
    st.tuples(RATES, RATES, RATES),
    WEIGHTS,
    st.sampled_from(["USD", "JPY", "BHD", "CLF"]),
    st.sampled_from(list(Rounding)),
)
@example((Rate(Decimal("-0.01"), POUND),) * 3, POUND / 4, "USD", Rounding.HALF_EVEN)
def test_three_rates_of_different_units_are_each_paid_alone(
    rates: tuple[Rate, Rate, Rate], grams: Decimal, code: str, rule: Rounding
) -> None:
    """Three rates brought under one divisor pay what each pays by itself."""
    amounts = Payer(rule).amount(scale(*rates, code), grams.as_integer_ratio())
    alone = [amount(rate.price, rate.per_grams, grams, code, rule) for rate in rates]
    assert [minor_as_decimal(minor, code) for minor in amounts] == alone


@given(RATES, WEIGHTS, st.integers(1, 1000))
def test_an_amount_grows_with_the_mass(rate: Rate, grams: Decimal, times: int) -> None:
    """So many times the mass at a ratio is so many times the amount, exactly, before it is rounded."""
    over, under = rate.ratio(100)
    assert Fraction(over, under) == Fraction(rate.price) * 100 / Fraction(rate.per_grams)
    exact = times * Fraction(over, under) * Fraction(grams)
    payer, same = Payer(Rounding.HALF_EVEN), scale(rate, rate, rate, "USD")
    assert payer.amount(same, (grams * times).as_integer_ratio()).likely == round(exact)


def test_a_price_a_pound_is_what_half_a_pound_costs_twice() -> None:
    """An amount comes from the price as posted: half a pound at 3.35 is 1.675, to the even cent 1.68."""
    rate = Rate(Decimal("3.35"), POUND)
    assert amount(rate.price, POUND, POUND / 2, "USD") == Decimal("1.68")
    assert rate.per(POUND) == Decimal("3.35")
    assert rate.times(Decimal("0.9")).per(POUND) == Decimal("3.015")
