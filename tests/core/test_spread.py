"""Low and high by spans: quartiles of what yards may pay by now, whatever the number of yards."""

from __future__ import annotations

import random
from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.core.test_consensus import DAY, POUND, PRICING, seen

from gradewright.core.consensus import Quote, quote
from gradewright.core.rates import Rate
from gradewright.core.rulebook import Spread
from gradewright.core.sightings import Sighting
from gradewright.core.spread import Voice, low_and_high, quantile, width

RULES = Spread(off_by=Decimal("0.02"), per_day=Decimal("0.001"), at_most=Decimal("0.1"))
SPREAD = replace(PRICING, spread=RULES)
ONE = Decimal(1)


def quoted(*sightings: Sighting, rules: Spread = RULES) -> Quote:
    """The quote of a day under a version with a spread."""
    found = quote(sightings, DAY, Decimal(0), replace(PRICING, spread=rules))
    assert found is not None
    return found


def figures(found: Quote) -> tuple[str, str, str]:
    """Low, likely and high as they are written."""
    return str(found.low.price), str(found.likely.price), str(found.high.price)


def test_a_lone_price_has_half_its_span() -> None:
    """3.00 seen today may be 2 % off to either side, and half of that lies within 1 %."""
    assert figures(quoted(seen("3.00"))) == ("2.97", "3.00", "3.03")


def test_the_span_widens_with_age() -> None:
    """A tenth of a percent more for each day, but at most ten."""
    assert figures(quoted(seen("3.00", days=20))) == ("2.94", "3.00", "3.06")
    assert [str(width(age, RULES)) for age in (0, 1, 80, 81, 120)] == [
        "0.020", "0.021", "0.1", "0.1", "0.1",
    ]  # fmt: skip


def test_two_yards_far_apart() -> None:
    """Half of what two yards pay next lies between their prices."""
    assert figures(quoted(seen("3.00"), seen("4.00", "tern-row"))) == ("3.00", "3.00", "4.00")


def test_three_yards_far_apart() -> None:
    """A quarter of three yards is three quarters of the lowest one's span: it reaches 1 % above its price."""
    found = quoted(seen("3.00"), seen("4.00", "tern-row"), seen("5.00", "cinder-lane"))
    assert figures(found) == ("3.03", "4.00", "4.95")


def test_a_yard_weighs_the_same_whoever_posts() -> None:
    """Nine claims of one yard, all the same, weigh as one of each other yard."""
    others = [seen("4.00", "tern-row"), seen("5.00", "cinder-lane")]
    many = [seen("3.00", author=f"member-{n}") for n in range(9)]
    assert figures(quoted(*many, *others)) == figures(quoted(seen("3.00"), *others))


def test_witnesses_that_differ_make_a_yard_less_sure() -> None:
    """Where two say 3.00 and 3.40 of a yard it may pay either: low and high are those of both."""
    found = quoted(seen("3.00"), seen("3.40", author="dunlin"))
    assert figures(found) == ("3.00", "3.00", "3.40")


def test_a_charge_has_its_span_too() -> None:
    """Below zero low is the larger charge; at zero there is no span."""
    assert figures(quoted(seen("-1.00"))) == ("-1.01", "-1.00", "-0.99")
    assert figures(quoted(seen("0"))) == ("0", "0", "0")


def test_low_and_high_are_of_the_likely_prices_unit() -> None:
    """Prices per kilogram and per pound are compared by what they pay, and told as the likely one is."""
    kilogram = Voice(Rate(Decimal("6.60"), Decimal(1000)), ONE, 0)
    pound = Voice(Rate(Decimal("3.00"), POUND), ONE, 0)
    low, high = low_and_high([kilogram, pound], RULES, pound.rate)
    assert low.per_grams == high.per_grams == POUND
    assert low.price < 3 < high.price


spans = st.lists(
    st.tuples(
        st.decimals("0.01", "100", places=3),
        st.decimals("0", "3", places=3),
        st.decimals("0.001", "1", places=3),
    ).map(lambda one: (one[0], one[0] + one[1], one[2])),
    min_size=1,
    max_size=8,
)


@given(spans, st.sampled_from(["0.25", "0.5", "0.75"]))
def test_a_quantile_is_where_the_distribution_reaches_it(
    found: list[tuple[Decimal, Decimal, Decimal]], share: str
) -> None:
    """By an independent way: the mixture's distribution function, summed up at the quantile and just below
    it, lies on either side of the share."""
    at = quantile(found, Decimal(share))
    total = sum(weight for _, _, weight in found)

    def below(x: Decimal, *, inclusive: bool) -> Decimal:
        parts = Decimal(0)
        for left, right, weight in found:
            if left == right:
                parts += weight * (x >= left if inclusive else x > left)
            else:
                parts += weight * min(max((x - left) / (right - left), Decimal(0)), ONE)
        return parts / total

    close = Decimal("1E-20")
    assert below(at + close, inclusive=True) >= Decimal(share) - close
    assert below(at - close, inclusive=False) <= Decimal(share) + close


def test_quantiles_are_those_of_many_draws() -> None:
    """As numpy has them of a million draws from the same mixture, to the third place."""
    found = [("2.90", "3.10", "0.5"), ("3.00", "3.40", "0.3"), ("3.60", "3.70", "0.2")]
    exact = [tuple(map(Decimal, one)) for one in found]
    draws = np.random.default_rng(1)
    which = draws.choice(len(found), size=1_000_000, p=[float(weight) for _, _, weight in found])
    low, high = (np.array([float(one[end]) for one in found])[which] for end in (0, 1))
    drawn = low + (high - low) * draws.random(which.size)
    for share in (0.25, 0.5, 0.75):
        found_at = float(quantile(exact, Decimal(str(share))))  # type: ignore[arg-type]
        assert found_at == pytest.approx(np.quantile(drawn, share), abs=2e-3)


@given(
    st.lists(
        st.tuples(
            st.decimals("0.01", "9", places=2),
            st.sampled_from(["low-quay", "tern-row", "cinder-lane", "hook-end"]),
            st.sampled_from(["wren", "dunlin", "siskin"]),
            st.integers(0, 120),
        ),
        min_size=1,
        max_size=12,
    )
)
def test_the_likely_price_lies_between(claims: list[tuple[Decimal, str, str, int]]) -> None:
    """Low is never above the likely price, and high never below; likely is what it was without a spread."""
    said = [seen(str(price), yard, author, days=days) for price, yard, author, days in claims]
    found, before = quoted(*said), quote(said, DAY, Decimal(0), PRICING)
    assert before is not None
    assert found.likely == before.likely
    low, likely, high = (rate.per(ONE) for rate in (found.low, found.likely, found.high))
    assert low <= likely <= high


NOISY, QUIET = 0.05, 0.005
HALF, A_THIRD = (0.40, 0.60), (0.25, 0.42)


@pytest.mark.parametrize(
    ("yards", "noise", "expected"),
    [*((yards, QUIET, HALF) for yards in (1, 2, 3, 4, 8)), *((yards, NOISY, HALF) for yards in (2, 3, 4, 8)),
     (1, NOISY, A_THIRD)],
)  # fmt: skip
def test_about_half_of_what_is_paid_next_lies_between(
    yards: int, noise: float, expected: tuple[float, float]
) -> None:
    """Over many markets whose yards differ by some percent and whose prices are read with some noise, from
    40 to 60 of 100 prices seen next lie between low and high; two witnesses a yard, seed fixed. Only of
    a lone yard that two read with much noise no more than a third: how far readings differ cannot be told
    from two. The quartiles that versions before took hold all of them where two yards are quiet."""
    chance = random.Random(7)
    rules = Spread(off_by=Decimal("0.005"), per_day=Decimal("0.001"), at_most=Decimal("0.1"))
    within = cases = old = 0
    for _ in range(150):
        pays = {f"yard-{n}": 3 * (1 + chance.gauss(0, 0.03)) for n in range(yards)}

        def visit(yard: str, author: str, pays: dict[str, float] = pays) -> Sighting:
            amount = f"{pays[yard] * (1 + chance.gauss(0, noise)):.4f}"
            return seen(amount, yard, author, days=1)

        said = [visit(yard, author) for yard in pays for author in ("wren", "dunlin")]
        found, before = quoted(*said, rules=rules), quote(said, DAY, Decimal(0), PRICING)
        assert before is not None
        for yard in pays:
            paid = visit(yard, "siskin").rate.price
            within += found.low.price <= paid <= found.high.price
            old += before.low.price <= paid <= before.high.price
            cases += 1
    assert expected[0] <= within / cases <= expected[1]
    if (yards, noise) == (2, QUIET):
        assert old / cases > 0.95


def test_versions_without_a_spread_stay_as_they_were() -> None:
    """Without it few yards are widened by their margin, as before."""
    found = quote([seen("3.00")], DAY, Decimal(0), PRICING)
    assert found is not None
    assert figures(found) == ("2.700", "3.00", "3.300")
