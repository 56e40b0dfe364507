"""Prices that age: moved as far as their benchmark has moved since, and no further than it is known."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.core.rulebooks import rulebook
from tests.core.test_consensus import DAY, PRICING, seen

from gradewright.core.aging import NOTHING_AGES, Aging, aging
from gradewright.core.basis import in_words, moved
from gradewright.core.benchmarks import Curve, Reading, curve
from gradewright.core.consensus import quote
from gradewright.core.rulebook import Benchmarked, Follows, Grade
from gradewright.core.units import mass_unit

STALE = 45


def copper(*values: tuple[int, str]) -> Curve:
    """A benchmark by values of days before the day."""
    return curve("copper", [Reading(DAY - timedelta(days=ago), Decimal(value)) for ago, value in values])


def following(curve: Curve, share: str = "0.8") -> Aging:
    """Copper, which passes on some of what the benchmark does."""
    return Aging({"copper-no2": (Follows("copper", Decimal(share)), curve)}, STALE)


def price(found: Aging, *seen_: object, on: date = DAY) -> list[str]:
    """What the sightings pay on a day."""
    return [str(s.rate.price) for s in found.aged("copper-no2", seen_, on)]  # type: ignore[arg-type]


def test_a_price_moves_by_the_share_of_its_benchmark() -> None:
    """Copper went from 9,000 to 9,450, up 5 %: at a share of 80 % a price of then is 4 % more today."""
    ages = following(copper((30, "9000"), (0, "9450")))
    assert price(ages, seen("3.00", days=20)) == ["3.12"]
    assert price(following(copper((30, "9000"), (0, "9450")), "1"), seen("3.00", days=20)) == ["3.15"]


def test_the_values_of_the_days_count() -> None:
    """The newest value on the day on which the price was seen, and that of the day asked for."""
    ages = following(copper((30, "100"), (20, "110"), (10, "121"), (0, "242")), "1")
    on = [DAY - timedelta(days=ago) for ago in (0, 1, 10, 11, 19, 20)]
    assert [price(ages, seen("1.00", days=20), on=day)[0] for day in on] == [
        "2.20", "1.10", "1.10", "1.00", "1.00", "1.00",
    ]  # fmt: skip
    assert price(ages, seen("1.00", days=21)) == ["2.42"]
    assert price(ages, seen("1.00", days=0)) == ["1.00"]


def test_a_value_that_was_old_moves_nothing() -> None:
    """Where the benchmark had not been kept for longer than it counts when the price was seen, it stands."""
    ages = following(copper((60, "100"), (0, "200")))
    assert price(ages, seen("3.00", days=60 - STALE)) == ["5.40"]
    assert price(ages, seen("3.00", days=60 - STALE - 1)) == ["3.00"]


def test_a_price_moves_as_far_as_is_known() -> None:
    """Where the benchmark is kept no longer, prices from before stay where it left them, for good."""
    ages = following(copper((90, "100"), (60, "200")))
    on = [DAY - timedelta(days=ago) for ago in (61, 60, 10, 0)]
    assert [price(ages, seen("3.00", days=80), on=day)[0] for day in on] == ["3.00", "5.40", "5.40", "5.40"]
    assert price(ages, seen("3.00", days=50)) == ["3.00"]


def test_before_the_first_value_a_price_stands() -> None:
    """What was seen before the benchmark begins has nothing to be compared with."""
    assert price(following(copper((10, "100"), (0, "200"))), seen("3.00", days=11)) == ["3.00"]


def test_a_charge_stands() -> None:
    """What it costs to be rid of something does not grow with the metal's price."""
    ages = following(copper((10, "100"), (0, "200")))
    assert price(ages, seen("-0.10", days=10), seen("0", days=10)) == ["-0.10", "0"]


def test_other_grades_stand() -> None:
    """Only the grade that follows moves; without benchmarks none does."""
    ages = following(copper((10, "100"), (0, "200")))
    then = [seen("3.00", days=10)]
    assert ages.aged("brass-yellow", then, DAY) is then
    assert NOTHING_AGES.aged("copper-no2", then, DAY) is then


@given(
    st.decimals("0.01", "9999", places=4),
    st.decimals("0.01", "99999", places=2),
    st.decimals("0.01", "99999", places=2),
    st.integers(1, 100),
)
def test_as_exact_arithmetic_has_it(paid: Decimal, before: Decimal, after: Decimal, percent: int) -> None:
    """Within the twelfth place of what fractions give (an independent way: Python's `fractions`)."""
    ages = following(copper((10, str(before)), (0, str(after))), str(Decimal(percent) / 100))
    [found] = ages.aged("copper-no2", [seen(str(paid), days=10)], DAY)
    share = Fraction(percent, 100)
    exact = Fraction(paid) * (1 + share * (Fraction(after) / Fraction(before) - 1))
    assert abs(Fraction(found.rate.price) - exact) <= Fraction(paid) / 10**12
    assert found.rate.price > 0


def test_of_two_values_of_a_day_the_later_said_counts() -> None:
    """A correction counts from its revision on; before, the first value is known."""
    said = [Reading(DAY, Decimal(100), 5), Reading(DAY, Decimal(101), 9), Reading(DAY, Decimal(99), 2)]
    assert [curve("copper", said, known).values for known in (1, 2, 5, 8, 9, None)] == [
        (), (Decimal(99),), (Decimal(100),), (Decimal(100),), (Decimal(101),), (Decimal(101),),
    ]  # fmt: skip


def test_a_quote_tells_what_moved() -> None:
    """Of three claims two moved; the likely one says from what it comes, and that is told in words."""
    ages = following(copper((30, "9000"), (12, "9000"), (0, "9225")))
    then = [
        seen("3.00", "low-quay", days=20),
        seen("3.20", "cinder-lane", days=12),
        seen("3.50", "tern-row", days=0),
    ]
    found = quote(ages.aged("copper-no2", then, DAY), DAY, Decimal(0), PRICING)
    assert found is not None
    assert (str(found.low.price), str(found.likely.price), str(found.high.price)) == ("3.06", "3.264", "3.50")
    assert found.moves is not None
    told = moved(found.moves, mass_unit("lb"))
    assert (told.benchmark, told.share, told.entries) == ("copper", "80 %", 2)
    assert told.likely is not None
    assert (told.likely.seen, told.likely.times, told.likely.before, told.likely.after) == (
        "3.20", "1.02", "9000", "9225",
    )  # fmt: skip
    assert told.likely.seen_on == DAY - timedelta(days=12)
    assert told.likely.before_on == DAY - timedelta(days=12)
    assert in_words(found.moves) == "moved +2 % with copper since 2026-04-22"


def test_where_the_likely_price_stands_only_the_others_are_told() -> None:
    """The likely price was seen today; what moved is an older one beside it."""
    ages = following(copper((30, "100"), (0, "110")))
    then = [seen("3.00", days=0), seen("2.00", "cinder-lane", days=20), seen("4.00", "tern-row", days=0)]
    found = quote(ages.aged("copper-no2", then, DAY), DAY, Decimal(0), PRICING)
    assert found is not None
    assert found.moves is not None
    assert found.moves.likely is None
    assert in_words(found.moves) == "1 price moved with copper"
    assert quote(then, DAY, Decimal(0), PRICING).moves is None  # type: ignore[union-attr]


@pytest.mark.parametrize(("rules", "kept"), [(Benchmarked(30), {"copper"}), (None, {"copper"})])
def test_a_version_says_what_follows_what(rules: Benchmarked | None, kept: set[str]) -> None:
    """Grades follow where the version says how, and the benchmark is kept; else they stand."""
    book = rulebook([], [])
    grades = {
        slug: Grade(slug, slug, "any", "-", follows=Follows(benchmark, Decimal(1)))
        for slug, benchmark in (("copper-no2", "copper"), ("zinc", "zinc"))
    }
    pricing = replace(book.pricing, benchmarks=rules)
    found = aging(replace(book, grades=grades, pricing=pricing), {slug: copper() for slug in kept})
    assert set(found.follows) == ({"copper-no2"} if rules else set())
    assert found.stale_after == (30 if rules else 0)
