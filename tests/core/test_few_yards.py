"""Where others speak of two yards only: what is far from both waits, and nobody moves a price alone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st
from tests.core.test_holding import ALIKE, DAY, HOLDING, PRICING, seen

from gradewright.core.consensus import Quote, quote
from gradewright.core.holding import held_of, sifted
from gradewright.core.rulebook import Few
from gradewright.core.sightings import Entry, Sighting
from gradewright.core.spoken import NOTHING_SAID, Held, Said, level

FEW = replace(PRICING, holding=replace(HOLDING, few=Few(2, Decimal(2))))


def held(sightings: list[Sighting], said: Mapping[Entry, Said] = NOTHING_SAID) -> dict[Entry, Held]:
    """What waits where few are judged too, everybody's word weighing the same."""
    return held_of(sightings, DAY, FEW, ALIKE, said)


def quoted(sightings: list[Sighting]) -> Quote:
    """The price, without what waits."""
    gone = sifted(sightings, DAY, FEW, ALIKE).gone
    found = quote(sightings, DAY, Decimal(0), FEW, ALIKE, gone)
    assert found is not None
    return found


def two() -> list[Sighting]:
    """Two yards, with one witness each."""
    return [seen("3.00", "low-quay", "wren", days=4), seen("3.45", "cinder-lane", "siskin", days=2)]


def test_what_is_far_from_both_waits_and_is_told_with_the_nearest() -> None:
    """A tenth and the tenfold: held against the nearer of the two, which is no median and has no spread."""
    low, high = seen("0.30", "tern-row", "plover"), seen("30.0", "tern-row", "plover")
    why = held([*two(), low])[low.entry]
    assert (why.because, why.yards, why.spread, why.score) == ("far-off", 2, None, None)
    assert why.median is not None
    assert round(why.median * Decimal("0.45359237"), 2) == Decimal("3.00")
    assert held([*two(), high])[high.entry].because == "far-off"


def test_a_version_without_few_judges_nobody_there() -> None:
    """As versions before do: the tenfold price counts where others speak of two yards."""
    assert held_of([*two(), seen("30.0", "tern-row", "plover")], DAY, PRICING, ALIKE) == {}


def test_what_is_within_twice_of_one_of_them_counts() -> None:
    """Yards differ, and more so in what is cheap."""
    assert held([*two(), seen("1.51", "tern-row", "plover")]) == {}
    assert held([*two(), seen("6.89", "tern-row", "plover")]) == {}
    assert held([*two(), seen("1.49", "tern-row", "plover")]) != {}
    assert held([*two(), seen("6.91", "tern-row", "plover")]) != {}


def test_who_is_right_is_not_held_by_the_one_who_is_wrong() -> None:
    """The median of two would be the lower one, and hold the wrong two of three."""
    wrong = seen("0.30", "tern-row", "plover")
    assert list(held([wrong, *two()])) == [wrong.entry]


def test_where_the_others_do_not_agree_nobody_is_judged() -> None:
    """Of 2, 5 and 11 cents each is more than twice its nearest: to hold all would leave no price at all."""
    claims = [seen(price, f"yard-{price}", f"member-{price}") for price in ("0.02", "0.05", "0.11")]
    assert held(claims) == {}


def test_exactly_twice_counts() -> None:
    """Whatever the unit in which levels are rounded."""
    for prices in (
        ("0.05", "0.10", "0.20"),
        ("1", "2", "4"),
        ("3.00", "3.00", "6.00"),
        ("0.35", "0.70", "0.70"),
    ):
        claims = [seen(price, f"yard-{n}", f"member-{n}") for n, price in enumerate(prices)]
        assert held(claims) == {}


@given(st.lists(st.integers(1, 400), min_size=3, max_size=3))
def test_somebody_always_counts(cents: list[int]) -> None:
    """Of three yards with a witness each one waits at most."""
    claims = [seen(f"{n / 100:.2f}", f"yard-{at}", f"member-{at}") for at, n in enumerate(cents)]
    assert len(held(claims)) <= 1


def test_of_two_yards_alone_neither_is_judged() -> None:
    """Nobody could say which of them is wrong."""
    assert held([two()[0], seen("30.0", "tern-row", "plover")]) == {}


def test_a_second_author_bears_it_out_and_a_ticket_what_is_not_beyond_belief() -> None:
    """Up to three times the nearest a ticket stands for a second author, as where there are more yards."""
    dear, dearer = seen("7.20", "tern-row", "plover"), seen("33.0", "tern-row", "plover")
    assert held([*two(), dear])[dear.entry].because == "outlier"
    assert held([*two(), dear], {dear.entry: Said(shown=True)}) == {}
    assert held([*two(), dearer], {dearer.entry: Said(shown=True)}) != {}
    assert held([*two(), dearer, seen("33.0", "tern-row", "heron", days=1)]) == {}


def test_a_market_that_halves_is_followed_as_soon_as_two_have_seen_it() -> None:
    """The first waits, with the second both count and the old price waits, with the third all count."""
    old = [*two(), seen("3.20", "tern-row", "plover", days=3)]
    first, second = seen("1.40", "low-quay", "wren"), seen("1.50", "cinder-lane", "siskin")
    assert list(held([*old, first])) == [first.entry]
    assert list(held([*old, first, second])) == [old[2].entry]
    assert held([*old, first, second, seen("1.45", "tern-row", "plover")]) == {}


@given(
    st.tuples(*[st.decimals("2.80", "4.20", places=2).map(str)] * 2),
    st.decimals("0.01", "99.99", places=2).map(str),
    st.sampled_from(["ticket", "sign"]),
)
def test_one_of_three_moves_no_price_alone(others: tuple[str, str], mine: str, evidence: str) -> None:
    """The likely price stays between the two others', low and high within twice of them and their spans."""
    claims = [seen(others[0], "low-quay", "wren"), seen(others[1], "cinder-lane", "siskin")]
    lowest, highest = sorted(level(s.rate) for s in claims)
    found = quoted([*claims, seen(mine, "tern-row", "plover", evidence=evidence)])
    assert lowest <= level(found.likely) <= highest
    margin = Decimal("0.12")  # thin prices have one, and a price stands for a span around it
    assert level(found.low) * 2 >= lowest * (1 - margin)
    assert level(found.high) <= highest * 2 * (1 + margin)


@given(
    st.lists(st.tuples(st.decimals("2.80", "3.80", places=2), st.integers(0, 9)), min_size=3, max_size=6),
    st.decimals("0.10", "1.80", places=2) | st.decimals("5.70", "30.00", places=2),
    st.integers(1, 6),
)
def test_one_author_at_all_yards_takes_no_price_away(
    honest: list[tuple[Decimal, int]], lie: Decimal, yards: int
) -> None:
    """A witness a yard, and one member who says half as much again of many of them, or two thirds."""
    claims = [
        seen(str(price), f"yard-{n}", f"member-{n}", days=days) for n, (price, days) in enumerate(honest)
    ]
    levels = [level(s.rate) for s in claims]
    lies = [seen(str(lie), f"yard-{n}", "shrike") for n in range(yards)]
    assert min(levels) <= level(quoted([*claims, *lies]).likely) <= max(levels)
