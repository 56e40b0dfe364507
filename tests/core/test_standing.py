"""Standing: newcomers weigh little, agreement raises, rejected prices lower, always between bounds."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.core.test_holding import ALIKE, DAY, PRICING, STANDING, market, seen

from gradewright.core.rulebook import Pricing
from gradewright.core.sightings import Sighting
from gradewright.core.standing import Record, settled, standings

OLD_HAND = Record(postings=50, days=400)


def standing(sightings: list[Sighting], author: str, **records: Record) -> Decimal:
    """The standing of one author; all others are old hands."""
    known = {s.author: records.get(s.author, OLD_HAND) for s in sightings}
    return standings({"copper-no2": sightings}, DAY, known, PRICING)[author]


@pytest.mark.parametrize(
    ("record", "expected"),
    [
        (Record(1, 0), "0.1"),
        (Record(1, 400), "0.1"),
        (Record(50, 0), "0.1"),
        (Record(50, 14), "0.55"),
        (Record(8, 28), "1"),
        (Record(500, 4000), "1"),
    ],
)
def test_a_voice_grows_with_postings_and_with_days(record: Record, expected: str) -> None:
    """From a newcomer's tenth to a full voice by the slower of the two: a day of many postings is no help."""
    assert settled(record, STANDING) == Decimal(expected)


def test_every_record_has_a_standing() -> None:
    """Shares without an end, such as 3 / 28, are rounded, never refused."""
    for postings in range(1, 12):
        for days in range(40):
            assert STANDING.newcomer <= settled(Record(postings, days), STANDING) <= 1


def test_who_agrees_has_a_full_voice() -> None:
    """Old hands whose prices agree with the others' weigh 1."""
    assert standing(market(), "wren") == 1


def test_who_is_off_weighs_less_the_more_often() -> None:
    """One price in three that is off leaves (1 + 2)^2 / (1 + 3)^2; all of three off leave 1 / 16."""
    good = [seen("3.31", "low-quay", "shrike"), seen("3.33", "tern-row", "shrike")]
    off = [seen("6.60", yard, "shrike") for yard in ("cinder-lane", "hook-end", "dell-side")]
    assert standing([*market(), *good, off[0]], "shrike") == Decimal("0.5625")
    assert standing([*market(), *off], "shrike") == Decimal("0.0625")


def test_rejected_prices_halve_and_the_least_stays() -> None:
    """Each rejected price halves the voice; it never falls below the least."""
    assert standing(market(), "wren", wren=Record(50, 400, rejected=1)) == Decimal("0.5")
    assert standing(market(), "wren", wren=Record(50, 400, rejected=40)) == Decimal("0.05")


def test_twenty_keys_of_one_person_weigh_less_than_those_they_shout_down() -> None:
    """Newcomers who agree with each other do not make a median against settled members."""
    keys = [seen("6.60", "low-quay", f"key-{n}") for n in range(20)]
    fresh = {f"key-{n}": Record(1, 0) for n in range(20)}
    everything = [*market(), *keys]
    assert standing(everything, "wren", **fresh) == 1
    assert standing(everything, "key-0", **fresh) == Decimal("0.05")


def test_whom_nobody_can_judge_is_taken_at_their_word() -> None:
    """Where others speak of too few yards, an author is as settled as they are, no more and no less."""
    assert standing([seen("9.90", "low-quay", "wren")], "wren") == 1


def test_a_version_without_standing_weighs_all_alike() -> None:
    """Older versions know no standing."""
    older = Pricing(120, 30, PRICING.evidence, 3, Decimal("0.1"))
    assert standings({"copper-no2": market()}, DAY, {}, older) == ALIKE


@given(
    st.lists(st.tuples(st.decimals("0.01", "99.99", places=2), st.integers(0, 5)), min_size=1, max_size=20)
)
def test_standing_is_bounded_and_depends_on_no_order(prices: list[tuple[Decimal, int]]) -> None:
    """Between the least and 1 for everybody, and the same whatever the order of the rows."""
    rows = [seen(str(price), f"yard-{n % 4}", f"author-{who}") for n, (price, who) in enumerate(prices)]
    known = {s.author: Record(9, 9, n % 3) for n, s in enumerate(rows)}
    found = standings({"copper-no2": rows}, DAY, known, PRICING)
    assert all(STANDING.least <= weight <= 1 for weight in found.values())
    assert standings({"copper-no2": rows[::-1]}, DAY, known, PRICING) == found


def test_who_is_between_two_camps_agrees_with_the_one_in_the_middle() -> None:
    """Both ends of where the others' median may be are too far off, and the median is not."""
    low = [seen("3.00", f"reed-end-{n}", author) for n, author in enumerate(("many", "many", "a", "b"))]
    high = [seen("4.00", f"tern-row-{n}", author) for n, author in enumerate(("many", "many", "c", "d"))]
    middle = [seen("3.50", "low-quay", "wren"), seen("3.50", "hook-end", "siskin")]
    assert standing([*low, *middle, *high], "wren") == 1


def test_few_who_go_to_many_yards_are_not_the_measure() -> None:
    """Three go to nine yards each and say ten times what six others do at one each: by number of claims they
    were right and the six wrong.
    """
    rows = [seen("3.30", f"yard-{n}", f"honest-{n}") for n in range(6)]
    rows += [seen("33.0", f"own-{n}", f"liar-{who}") for n in range(9) for who in range(3)]
    records = {s.author: Record(50, 400) for s in rows}
    before = standings({"copper-no2": rows}, DAY, records, PRICING)
    assert PRICING.standing is not None
    now = standings(
        {"copper-no2": rows},
        DAY,
        records,
        replace(PRICING, standing=replace(PRICING.standing, one_voice=True)),
    )
    assert (before["honest-0"], before["liar-0"]) == (Decimal("0.25"), 1)
    assert (now["honest-0"], now["liar-0"]) == (1, Decimal("0.05"))
