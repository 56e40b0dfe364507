"""Rates and the amounts that weights come to."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import example, given
from hypothesis import strategies as st

from gradewright.core.money import Rounding, amount_for, round_money
from gradewright.core.rates import Amount, Payer, Rate
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
def test_a_payer_rounds_as_money_is_rounded(
    rates: tuple[Rate, Rate, Rate], grams: Decimal, currency: str, rule: Rounding
) -> None:
    """Three amounts at once are what three roundings one by one would be, and nothing has no sign."""
    amounts = Payer(currency, rule).amount(*rates, grams)
    one_by_one = [round_money(amount_for(r.price, r.per_grams, grams), currency, rule) for r in rates]
    assert [str(amount) for amount in amounts] == [str(amount) for amount in one_by_one]
    assert not any(str(amount).startswith("-0") and not amount for amount in amounts)


def test_a_price_a_pound_is_what_half_a_pound_costs_twice() -> None:
    """An amount comes from the price as posted: half a pound at 3.35 is 1.675, to the even cent 1.68."""
    rate = Rate(Decimal("3.35"), POUND)
    assert Payer("USD", Rounding.HALF_EVEN).amount(rate, rate, rate, POUND / 2) == Amount(
        *[Decimal("1.68")] * 3
    )
    assert rate.per(POUND) == Decimal("3.35")
    assert rate.times(Decimal("0.9")).per(POUND) == Decimal("3.015")
