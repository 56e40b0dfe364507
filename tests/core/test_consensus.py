"""The likely price: one voice per yard, weighted medians and quartiles, thin evidence widened."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gradewright.core.consensus import Quote, quantile, quote
from gradewright.core.rates import Rate
from gradewright.core.rulebook import Pricing, Standing
from gradewright.core.sightings import Sighting, decay

POUND = Decimal("453.59237")
DAY = date(2026, 5, 4)
PRICING = Pricing(
    stale_after=120,
    half_life=30,
    evidence={"ticket": Decimal(1), "sign": Decimal("0.8"), "told": Decimal("0.5")},
    thin_below=3,
    thin_margin=Decimal("0.1"),
)


def seen(price: str, yard: str = "low-quay", author: str = "wren", **changed: object) -> Sighting:
    """A sign at a yard on the day, unless changed: `days` before, `evidence`, `lb` from-weight, …"""
    days = changed.get("days", 0)
    lb = changed.get("lb", 0)
    assert isinstance(days, int)
    assert isinstance(lb, int)
    return Sighting(
        revision=int(str(changed.get("revision", 1))),
        line=1,
        yard=yard,
        author=author,
        observed_on=DAY - timedelta(days=days),
        evidence=str(changed.get("evidence", "sign")),
        rate=Rate(Decimal(price), POUND),
        from_grams=lb * POUND,
    )


def quoted(*sightings: Sighting, lb: int = 0) -> Quote:
    found = quote(sightings, DAY, lb * POUND, PRICING)
    assert found is not None
    return found


def test_nothing_seen_is_no_price() -> None:
    """Without a sighting that counts there is no quote, and certainly not a price of nothing."""
    assert quote([], DAY, Decimal(0), PRICING) is None
    assert quote([seen("3.00", days=121)], DAY, Decimal(0), PRICING) is None
    assert quote([seen("3.00", days=-1)], DAY, Decimal(0), PRICING) is None


def test_a_sighting_counts_up_to_its_last_day() -> None:
    """A price goes stale the day after `stale_after`, not on it."""
    assert quoted(seen("3.00", days=120)).likely.price == Decimal("3.00")


def test_a_yard_counts_once_however_many_post() -> None:
    """Twenty authors at one yard have one voice among three yards."""
    crowd = [seen("9.00", yard="tern-row", author=f"a{n}") for n in range(20)]
    found = quoted(seen("3.00", yard="low-quay"), seen("3.10", yard="cinder-lane"), *crowd)
    assert found.likely.price == Decimal("3.10")
    assert (found.yards, found.entries) == (3, 22)


def test_an_author_has_one_voice_per_yard() -> None:
    """Of an author's sightings at a yard only the newest counts."""
    found = quoted(seen("2.00", days=9), seen("2.50", days=1), seen("2.20", days=4))
    assert found.likely.price == Decimal("2.50")
    assert found.entries == 1
    assert found.newest == found.oldest == DAY - timedelta(days=1)


def test_of_one_day_the_later_revision_counts() -> None:
    """Two postings about the same day: what was recorded later stands."""
    assert quoted(seen("2.50", revision=7), seen("2.00", revision=8)).likely.price == Decimal("2.00")


def test_few_yards_are_thin_and_widened() -> None:
    """With fewer than `thin_below` yards low and high are the extremes, moved out by the margin."""
    found = quoted(seen("3.00", yard="low-quay"), seen("3.20", yard="tern-row"))
    assert found.thin
    assert (found.low.price, found.high.price) == (Decimal("2.700"), Decimal("3.520"))


def test_a_charge_is_widened_away_from_nothing_too() -> None:
    """For a negative price low is the larger charge."""
    found = quoted(seen("-0.30"))
    assert found.low.price == Decimal("-0.330")
    assert found.high.price == Decimal("-0.270")


def test_three_yards_give_quartiles() -> None:
    """With enough yards low, likely and high are prices that somebody saw."""
    yards = [seen(p, yard=y) for p, y in (("3.00", "a"), ("3.10", "b"), ("3.40", "c"), ("3.20", "d"))]
    found = quoted(*yards)
    assert not found.thin
    assert [r.price for r in (found.low, found.likely, found.high)] == [
        Decimal(p) for p in ("3.00", "3.10", "3.20")
    ]


def test_a_better_price_for_more_needs_the_weight() -> None:
    """A from-weight counts for lots that reach it, on the line included, and the best tier reached wins."""
    base, tier = seen("3.00"), seen("3.25", lb=100)
    assert quoted(base, tier, lb=99).likely.price == Decimal("3.00")
    assert quoted(base, tier, lb=100).likely.price == Decimal("3.25")
    assert quote([tier], DAY, 99 * POUND, PRICING) is None


def test_stronger_evidence_outweighs() -> None:
    """Within a yard a ticket outweighs what two were told, by the weights of the rulebook."""
    told = [
        seen("2.00", author="a", evidence="told", days=30),
        seen("2.00", author="b", evidence="told", days=30),
    ]
    assert quoted(seen("2.60", author="c", evidence="ticket"), *told).likely.price == Decimal("2.60")


def test_prices_per_different_units_are_compared_exactly() -> None:
    """A kilogram price and a pound price are ordered by what they pay for the same weight."""
    kilo = Sighting(1, 1, "b", "wren", DAY, "sign", Rate(Decimal("6.61"), Decimal(1000)))  # 2.99824 a pound
    other = seen("3.00", yard="a")
    dearer = Sighting(1, 1, "c", "wren", DAY, "sign", Rate(Decimal("6.62"), Decimal(1000)))  # 3.00278 a pound
    assert quoted(other, kilo, dearer).likely.price == Decimal("3.00")


def test_decay_halves_over_a_half_life() -> None:
    """Nothing lost on the day, half after one half-life, and what three thirds of one multiply to."""
    assert decay(0, 30) == 1
    assert decay(30, 30) == Decimal("0.5")
    assert abs(decay(10, 30) ** 3 - Decimal("0.5")) < Decimal("1E-12")
    assert decay(10, 30) == decay(10, 30).quantize(Decimal("1E-12"))


RATES = st.integers(-500, 5000).map(lambda cents: Rate(Decimal(cents).scaleb(-2), POUND))
WEIGHTS = st.integers(1, 10**12).map(lambda n: Decimal(n).scaleb(-12))


@given(st.lists(st.tuples(RATES, WEIGHTS), min_size=1, max_size=12), st.sampled_from(["0.25", "0.5", "0.75"]))
@settings(max_examples=300)
def test_a_quantile_is_the_smallest_value_with_enough_weight_below(
    weighted: list[tuple[Rate, Decimal]], share: str
) -> None:
    """By the definition, with fractions: enough weight at or below it, not enough below anything smaller."""
    found = quantile(weighted, Decimal(share)).price
    total = sum(Fraction(weight) for _, weight in weighted)
    at_or_below = sum(Fraction(weight) for rate, weight in weighted if rate.price <= found)
    below = sum(Fraction(weight) for rate, weight in weighted if rate.price < found)
    assert found in {rate.price for rate, _ in weighted}
    assert at_or_below >= Fraction(share) * total > below or (
        below == 0 and at_or_below >= Fraction(share) * total
    )


SIGHTINGS = st.builds(
    lambda cents, yard, author, days, revision: seen(
        str(Decimal(cents).scaleb(-2)), yard=yard, author=author, days=days, revision=revision
    ),
    st.integers(100, 400),
    st.sampled_from(["a", "b", "c", "d"]),
    st.sampled_from(["wren", "rook", "teal"]),
    st.integers(0, 150),
    st.integers(1, 50),
)


@given(
    st.lists(SIGHTINGS, min_size=1, max_size=15, unique_by=lambda s: (s.yard, s.author, s.revision)),
    st.randoms(),
)
@settings(max_examples=200)
def test_the_order_of_the_ledger_read_does_not_matter(sightings: list[Sighting], random: object) -> None:
    """A database may hand rows over in any order: the quote is the same."""
    shuffled = sightings.copy()
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    assert quote(sightings, DAY, Decimal(0), PRICING) == quote(shuffled, DAY, Decimal(0), PRICING)


def test_of_one_price_in_two_spellings_it_is_always_the_same_ones() -> None:
    """Of two claims the first of the ledger, in whichever order they are read, also in what it rests on."""
    rows = [seen("3.30", author="wren", revision=7), seen("3.3", author="crake", revision=8)]
    for read in (rows, rows[::-1]):
        found = quote(read, DAY, Decimal(0), PRICING)
        assert found is not None
        assert str(found.likely.price) == "3.30"


@given(st.lists(SIGHTINGS, min_size=1, max_size=15))
@settings(max_examples=200)
def test_low_likely_high_stand_in_order(sightings: list[Sighting]) -> None:
    """Low is never above likely, nor likely above high."""
    found = quote(sightings, DAY, Decimal(0), PRICING)
    if found is not None:
        assert found.low.price <= found.likely.price <= found.high.price


def test_standing_weighs_authors() -> None:
    """At one yard the price of the author of more standing is taken, whichever of the two that is."""
    sightings = [seen("3.00", author="wren"), seen("3.20", author="heron")]
    for author, likely in (("wren", "3.00"), ("heron", "3.20")):
        standing = {"wren": Decimal("0.2"), "heron": Decimal("0.2"), author: Decimal(1)}
        found = quote(sightings, DAY, Decimal(0), PRICING, standing)
        assert found is not None
        assert found.likely.price == Decimal(likely)


def test_however_weak_a_sighting_is_a_price() -> None:
    """A lone price counts though its author weighs nothing; beside another's it moves nothing."""
    nothing = {"wren": Decimal(0)}
    alone = quote([seen("3.00")], DAY, Decimal(0), PRICING, nothing)
    assert alone is not None
    assert alone.likely.price == Decimal("3.00")
    both = [seen("9.00", "low-quay"), seen("3.00", "tern-row", "heron"), seen("9.00", "cinder-lane")]
    beside = quote(both, DAY, Decimal(0), PRICING, nothing)
    assert beside is not None
    assert beside.likely.price == Decimal("3.00")


VOICES = replace(
    PRICING, thin_below=1, standing=Standing(Decimal("0.1"), 8, 28, Decimal("0.5"), Decimal("0.05"))
)


@pytest.mark.parametrize(
    ("standing", "likely"), [("1", "3.00"), ("0.5", "3.00"), ("0.499999", "3.50"), ("0.05", "3.50")]
)
@pytest.mark.parametrize("witnesses", [1, 2])
def test_half_a_standing_gives_a_yard_its_whole_voice(standing: str, likely: str, witnesses: int) -> None:
    """Of two yards the cheaper one's price is the median while it weighs no less: of its witnesses one may
    weigh half, and not less, however many more agree."""
    sightings = [seen("3.00", "low-quay", "wren"), seen("3.50", "tern-row", "dunlin")]
    sightings += [seen("3.00", "low-quay", "siskin")] * (witnesses - 1)
    weights = {"wren": Decimal(standing), "siskin": Decimal("0.05"), "dunlin": Decimal(1)}
    found = quote(sightings, DAY, Decimal(0), VOICES, weights)
    assert found is not None
    assert found.likely == Rate(Decimal(likely), POUND)
