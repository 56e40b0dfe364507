"""What waits: prices far off what others say, until someone bears them out; nobody judges himself."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from decimal import Decimal
from itertools import count

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gradewright.core.consensus import Quote, quote
from gradewright.core.holding import held_of, sifted
from gradewright.core.others import Others
from gradewright.core.rates import Rate
from gradewright.core.rulebook import Holding, Pricing, Standing
from gradewright.core.sightings import Entry, Sighting
from gradewright.core.spoken import Held, Said, level
from gradewright.core.standing import Record, standings

DAY = date(2026, 5, 4)
POUND = Decimal("453.59237")
HOLDING = Holding(
    enough_yards=3,
    outlier=Decimal("3.5"),
    spread_floor=Decimal("0.02"),
    factor=Decimal(3),
    agrees_within=Decimal("0.12"),
    contradicted_within=7,
)
STANDING = Standing(Decimal("0.1"), 8, 28, Decimal("0.5"), Decimal("0.05"))
PRICING = Pricing(
    stale_after=120,
    half_life=30,
    evidence={"ticket": Decimal(1), "sign": Decimal("0.8")},
    thin_below=3,
    thin_margin=Decimal("0.1"),
    holding=HOLDING,
    standing=STANDING,
)
_numbers = count(1)
ALIKE: dict[str, Decimal] = {}


def seen(
    price: str, yard: str, author: str, *, days: int = 0, evidence: str = "sign", lb: int = 0
) -> Sighting:
    """A price per lb at a yard, so many days before the day."""
    rate, on = Rate(Decimal(price), POUND), DAY - timedelta(days=days)
    return Sighting(next(_numbers), 1, yard, author, on, evidence, rate, lb * POUND)


def market() -> list[Sighting]:
    """Four yards and six authors, within a few percent of 3.30."""
    return [
        seen("3.30", "low-quay", "wren", days=3),
        seen("3.28", "low-quay", "dunlin", days=9),
        seen("3.40", "cinder-lane", "siskin", days=2),
        seen("3.22", "tern-row", "plover", days=5),
        seen("3.35", "tern-row", "bittern", days=1),
        seen("3.31", "hook-end", "avocet", days=4),
    ]


def held(sightings: list[Sighting], said: dict[Entry, Said] | None = None) -> Mapping[Entry, Held]:
    return held_of(sightings, DAY, PRICING, ALIKE, said or {})


def test_a_market_without_outliers_holds_nothing() -> None:
    """Prices within the usual spread all count."""
    assert held(market()) == {}


@pytest.mark.parametrize(
    ("price", "because"),
    [("33.0", "far-off"), ("1.05", "far-off"), ("7.20", "outlier"), ("2.70", "outlier")],
)
def test_a_price_far_off_waits(price: str, because: str) -> None:
    """Ten times, a third, a price per kilogram taken for one per pound, a fifth too little: all wait."""
    wrong = seen(price, "low-quay", "shrike")
    found = held([*market(), wrong])
    assert list(found) == [wrong.entry]
    assert found[wrong.entry].because == because
    assert found[wrong.entry].yards == 4


def test_the_figures_are_those_of_the_source() -> None:
    """Median, MAD and score equal 0.6745 |x - median| / MAD of the others, by numpy on equal weights."""
    others = [
        seen(price, f"yard-{number}", f"author-{number}")
        for number, price in enumerate(("3.00", "3.50", "4.00", "4.50", "5.00"))
    ]
    wrong = seen("9.90", "yard-0", "shrike")
    why = held([*others, wrong])[wrong.entry]
    kilograms = np.array([float(s.rate.per(Decimal(1000))) for s in others])
    median = np.median(kilograms)
    mad = np.median(np.abs(kilograms - median))
    score = 0.6745 * abs(float(wrong.rate.per(Decimal(1000))) - median) / mad
    assert why.median is not None
    assert why.spread is not None
    assert why.score is not None
    assert float(why.median) == pytest.approx(median, abs=1e-6)
    assert float(why.spread) == pytest.approx(mad, abs=1e-6)
    assert float(why.score) == pytest.approx(score, abs=0.006)


@pytest.mark.parametrize(("score_over", "waits"), [("0.99", False), ("1.01", True)])
def test_the_limit_is_the_score_and_not_below(score_over: str, waits: bool) -> None:
    """Just under a score of 3.5 a price counts, just over it waits; the least spread is 2 % of the median."""
    others = [seen("4.00", f"yard-{n}", f"author-{n}") for n in range(4)]
    off = Decimal("3.5") * Decimal("0.02") * 4 / Decimal("0.6745") * Decimal(score_over)
    price = seen(str(round(4 + off, 6)), "dell-side", "shrike")
    assert bool(held([*others, price])) is waits


def test_too_few_yards_judge_nothing() -> None:
    """Where others speak of two yards only, nobody can tell which of them is off."""
    few = [s for s in market() if s.yard in ("low-quay", "cinder-lane")]
    assert held([*few, seen("33.0", "low-quay", "shrike")]) == {}


def test_nobody_judges_himself() -> None:
    """An author's own prices at other yards neither make the yards enough nor the outlier usual."""
    mine = [seen("33.0", yard, "shrike") for yard in ("low-quay", "cinder-lane", "tern-row", "hook-end")]
    found = held([*market(), *mine])
    assert set(found) == {s.entry for s in mine}


def test_a_second_author_of_that_yard_bears_it_out() -> None:
    """A price that waits counts when another says the same of the yard, and nobody lately says otherwise."""
    wrong = seen("2.50", "dell-side", "shrike")
    assert wrong.entry in held([*market(), wrong])
    second = seen("2.60", "dell-side", "heron", days=2)
    assert held([*market(), wrong, second]) == {}
    elsewhere = seen("2.60", "moor-end", "heron", days=2)
    assert wrong.entry in held([*market(), wrong, elsewhere])


def test_who_lately_says_otherwise_must_not_weigh_more() -> None:
    """Two against two bears it out, three against two does not; what was seen long before says nothing."""
    pair = [seen("2.50", "low-quay", "shrike"), seen("2.52", "low-quay", "heron")]
    assert held([*market(), *pair]) == {}  # wren alone spoke within the last 7 days
    third = [seen("3.30", "low-quay", "kite"), seen("3.31", "low-quay", "stork")]
    assert set(held([*market(), *pair, *third])) == {s.entry for s in pair}


def test_a_confirmation_bears_it_out_and_ones_own_does_not() -> None:
    """Another member's word counts as a second author's; the author's own word does not."""
    wrong = seen("7.20", "dell-side", "shrike")
    told = {wrong.entry: Said(confirmed_by=frozenset({"heron"}))}
    assert held([*market(), wrong], told) == {}
    own = {wrong.entry: Said(confirmed_by=frozenset({"shrike"}))}
    assert wrong.entry in held([*market(), wrong], own)


def test_a_ticket_bears_it_out_where_nobody_says_otherwise() -> None:
    """A settled ticket stands for a second author, and weighs nothing against others who were there."""
    shown = Said(confirmed_by=frozenset({"shrike"}), shown=True)
    alone = seen("7.20", "dell-side", "shrike")
    assert held([*market(), alone], {alone.entry: shown}) == {}
    against = [seen("3.30", "dell-side", "kite"), seen("3.31", "dell-side", "stork")]
    assert alone.entry in held([*market(), alone, *against], {alone.entry: shown})
    disputed = Said(disputed_by=frozenset({"kite", "stork"}), shown=True)
    assert alone.entry in held([*market(), alone], {alone.entry: disputed})


def test_a_ticket_alone_does_not_bear_out_what_is_far_off() -> None:
    """Ten times the price waits for a second author, ticket or not: low and high would follow it."""
    far = seen("33.0", "dell-side", "shrike")
    assert held([*market(), far], {far.entry: Said(shown=True)})[far.entry].because == "far-off"
    seconded = Said(confirmed_by=frozenset({"heron"}), shown=True)
    assert held([*market(), far], {far.entry: seconded}) == {}


def test_an_accepted_price_is_not_judged() -> None:
    """What a maintainer has accepted counts, however far off and however disputed."""
    wrong = seen("33.0", "low-quay", "shrike")
    told = {wrong.entry: Said(disputed_by=frozenset({"wren", "dunlin", "heron"}), accepted=True)}
    assert held([*market(), wrong], told) == {}


def test_disputes_hold_where_they_weigh_more() -> None:
    """One dispute holds nothing; two members outweigh an author alone, not one with two behind him."""
    *_, one = everything = market()  # nobody else speaks of that yard
    assert held(everything, {one.entry: Said(disputed_by=frozenset({"kite"}))}) == {}
    two = Said(disputed_by=frozenset({"kite", "stork"}))
    assert held(everything, {one.entry: two})[one.entry].because == "disputed"
    behind = Said(disputed_by=two.disputed_by, confirmed_by=frozenset({"heron", "plover"}))
    assert held(everything, {one.entry: behind}) == {}


def test_the_claim_before_stands_in_its_place() -> None:
    """While the newest price of an author waits, the one before it counts, and lies before it do not."""
    old, lie, lie_again = (
        seen("3.33", "low-quay", "shrike", days=8),
        seen("33.1", "low-quay", "shrike", days=1),
        seen("33.0", "low-quay", "shrike"),
    )
    everything = [*market(), old, lie, lie_again]
    gone = sifted(everything, DAY, PRICING, ALIKE).gone
    assert gone == {lie.entry, lie_again.entry}


def test_after_three_lies_in_a_row_an_author_is_silent_there() -> None:
    """Not all of a long history of lies is looked through: the author then says nothing of the yard."""
    lies = [seen("33.0", "low-quay", "shrike", days=n) for n in range(5)]
    honest = seen("3.33", "low-quay", "shrike", days=9)
    gone = sifted([*market(), honest, *lies], DAY, PRICING, ALIKE).gone
    assert gone == {s.entry for s in [honest, *lies]}


def test_a_version_without_rules_for_it_holds_nothing() -> None:
    """Older versions of the rulebook count every price, as they did."""
    older = Pricing(120, 30, PRICING.evidence, 3, Decimal("0.1"))
    assert held_of([*market(), seen("33.0", "low-quay", "shrike")], DAY, older, ALIKE) == {}


def test_a_tier_is_judged_among_what_lots_of_its_weight_are_paid() -> None:
    """A better price from a weight on waits if it is far off, and then only lots of that weight miss it."""
    tier = seen("33.0", "low-quay", "shrike", lb=100)
    assert list(held([*market(), tier])) == [tier.entry]
    fair = seen("3.50", "low-quay", "shrike", lb=100)
    assert held([*market(), fair]) == {}


USUAL = st.decimals("2.80", "4.20", places=2).map(str)
PRICES = st.decimals("0.01", "99.99", places=2).map(str)
YARDS = ("low-quay", "cinder-lane", "tern-row", "hook-end")


@given(
    st.lists(st.tuples(USUAL, st.integers(0, 60)), min_size=4, max_size=8),
    st.lists(
        st.tuples(PRICES, st.sampled_from((*YARDS, "dell-side", "moor-end", "far-side")), st.integers(0, 9)),
        max_size=12,
    ),
    st.sampled_from(["ticket", "sign"]),
)
@settings(max_examples=300)
def test_one_author_never_takes_the_likely_price_out_of_what_others_say(
    others: list[tuple[str, int]], mine: list[tuple[str, str, int]], evidence: str
) -> None:
    """Where others speak of three yards and more, whatever one posts, the likely price is between theirs."""
    honest = [
        seen(price, YARDS[number % len(YARDS)], f"author-{number}", days=days)
        for number, (price, days) in enumerate(others)
    ]
    attack = [seen(price, yard, "shrike", days=days, evidence=evidence) for price, yard, days in mine]
    found = _quoted([*honest, *attack])
    gone = sifted([*honest, *attack], DAY, PRICING, ALIKE).gone
    counted = [s for s in honest if s.entry not in gone]
    if len({s.yard for s in counted}) < HOLDING.enough_yards:
        return
    levels = [level(s.rate) for s in honest]
    assert found is not None
    assert min(levels) <= level(found.likely) <= max(levels)


def _quoted(sightings: list[Sighting]) -> Quote | None:
    gone = sifted(sightings, DAY, PRICING, ALIKE).gone
    return quote(sightings, DAY, Decimal(0), PRICING, ALIKE, gone)


@given(
    st.lists(
        st.tuples(st.integers(1, 60), st.integers(0, 6), st.integers(0, 9), st.booleans()),
        min_size=8,
        max_size=40,
        unique_by=lambda each: each[1:3],
    )
)
def test_who_is_sure_to_count_is_judged_as_one_by_one(prices: list[tuple[int, int, int, bool]]) -> None:
    """What waits, and who weighs what, are the same where each claim is held against its author's median."""
    claims = [
        seen(f"{3 + (at - 30) / 40:.2f}", f"yard-{yard}", f"member-{author}", lb=100 * large)
        for at, yard, author, large in prices
    ]
    records = {s.author: Record(50, 400) for s in claims}
    quick = held_of(claims, DAY, PRICING, ALIKE), standings({"copper-no2": claims}, DAY, records, PRICING)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Others, "reach", lambda *_: None)
        one_by_one = held_of(claims, DAY, PRICING, ALIKE)
        assert quick == (one_by_one, standings({"copper-no2": claims}, DAY, records, PRICING))
