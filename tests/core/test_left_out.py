"""No author alone has the prices of others wait, and nobody without a record outweighs who has one."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from tests.core.test_holding import ALIKE, DAY, HOLDING, PRICING, STANDING, market, seen

from gradewright.core.consensus import Quote, quote
from gradewright.core.holding import held_of, sifted
from gradewright.core.market import Market
from gradewright.core.rulebook import Few, Pricing
from gradewright.core.sightings import Sighting
from gradewright.core.spoken import Said, level
from gradewright.core.standing import Record, settled, standings

FEW = replace(HOLDING, few=Few(2, Decimal(2)))
BEFORE = replace(PRICING, holding=FEW)
ALONE = replace(HOLDING, without_any_one=True)
NEWEST = replace(FEW, without_any_one=True, words_weighed=True, borne_out_at_most=Decimal("0.1"))
NOW = replace(PRICING, holding=NEWEST)
OLD_HAND = Record(50, 400)
YARDS = ("low-quay", "cinder-lane", "tern-row", "dell-side", "moor-end", "far-side")
SPREAD = [(300, 39), (300, 53), (335, 26), (350, 60)]
"""Four honest prices of which each has a neighbour so heavy that the others are outliers to it."""


def judged(rows: list[Sighting], pricing: Pricing) -> tuple[frozenset[object], Quote]:
    """What waits and the price, all of them old hands whose standing is by what they claim."""
    standing = standings({"copper-no2": rows}, DAY, {s.author: OLD_HAND for s in rows}, pricing)
    waits = sifted(rows, DAY, pricing, standing)
    found = quote(waits.left(rows), DAY, Decimal(0), pricing, standing)
    assert found is not None
    return waits.gone, found


def honest() -> list[Sighting]:
    """Three yards with a witness each."""
    return [
        seen("3.73", "low-quay", "wren", days=29),
        seen("3.04", "cinder-lane", "siskin", days=7),
        seen("3.30", "tern-row", "plover", days=49),
    ]


def test_one_author_at_many_yards_had_all_others_wait() -> None:
    """By versions that judge by all others together the price was his; now theirs count, and hold it."""
    mine = [seen("3.97", yard, "shrike", evidence="ticket") for yard in YARDS[1:]]
    rows = [*honest(), *mine]
    gone, found = judged(rows, BEFORE)
    assert gone == {s.entry for s in rows[:3]}
    assert found.likely.price == Decimal("3.97")
    gone, found = judged(rows, NOW)
    assert not gone & {s.entry for s in rows[:3]}
    assert Decimal("3.04") <= found.likely.price <= Decimal("3.73")


@pytest.mark.parametrize("real", [False, True])
@given(
    st.lists(st.tuples(st.integers(300, 400), st.integers(0, 60)), min_size=3, max_size=5),
    st.integers(1, 60),
    st.lists(
        st.tuples(st.sampled_from(YARDS), st.integers(0, 9)), min_size=1, max_size=6, unique_by=lambda e: e[0]
    ),
    st.sampled_from(["ticket", "sign"]),
)
@example(SPREAD, 26, [("low-quay", 0), ("cinder-lane", 0), ("tern-row", 0)], "ticket")
@settings(max_examples=300)
def test_one_author_never_takes_the_price_out_of_what_others_say(
    real: bool, others: list[tuple[int, int]], tenths: int, mine: list[tuple[str, int]], evidence: str
) -> None:
    """Whatever price one author says, at however many yards, where three and more have a witness each."""
    rows = [
        seen(f"{cents / 100:.2f}", YARDS[number], f"author-{number}", days=days)
        for number, (cents, days) in enumerate(others)
    ]
    attack = [seen(f"{tenths / 10:.1f}", yard, "shrike", days=days, evidence=evidence) for yard, days in mine]
    if real:
        _, found = judged([*rows, *attack], NOW)
    else:
        everything = [*rows, *attack]
        there = quote(sifted(everything, DAY, NOW, ALIKE).left(everything), DAY, Decimal(0), NOW, ALIKE)
        assert there is not None
        found = there
    levels = [level(s.rate) for s in rows]
    assert min(levels) <= level(found.likely) <= max(levels)


def test_what_waits_leaves_nobody_alone() -> None:
    """Without the fifth author three of the four would wait for each other: none does, but ten times does."""
    rows = [
        seen(f"{cents / 100:.2f}", YARDS[number], f"author-{number}", days=days)
        for number, (cents, days) in enumerate(SPREAD)
    ]
    assert len(held_of(rows, DAY, BEFORE, ALIKE)) == 3
    assert held_of(rows, DAY, NOW, ALIKE) == {}
    wrong = seen("33.0", "far-side", "shrike")
    gone, found = judged([*rows, wrong], NOW)
    assert gone == {wrong.entry}
    assert found.yards == 4


def test_two_who_agree_still_have_another_wait() -> None:
    """The tenfold price waits: whichever of the others is left out, the rest say so."""
    wrong = seen("33.0", "far-side", "shrike")
    assert [*held_of([*market(), wrong], DAY, NOW, ALIKE)] == [wrong.entry]


@pytest.mark.parametrize("few", [True, False])
@given(
    st.lists(
        st.tuples(st.integers(1, 90), st.integers(0, 2), st.integers(0, 9)),
        min_size=6,
        max_size=24,
        unique_by=lambda each: each[1:],
    )
)
def test_a_price_waits_if_it_does_without_each_of_the_others(
    few: bool, prices: list[tuple[int, int, int]]
) -> None:
    """Yards with a witness each: judged without each of the authors in turn, the quick way and the other."""
    now, before = (NOW, BEFORE) if few else (replace(PRICING, holding=ALONE), PRICING)
    rows = [seen(f"{at / 10:.1f}", f"yard-{author}-{n}", f"member-{author}") for at, n, author in prices]
    all_together = held_of(rows, DAY, before, ALIKE)
    assume(all_together)
    quick = held_of(rows, DAY, now, ALIKE)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Market, "_surely", lambda *_: False)
        assert quick == held_of(rows, DAY, now, ALIKE)
    if few:  # where all would wait none does: that is of no claim by itself
        return
    for entry, why in all_together.items():
        others = {s.author for s in rows} - {s.author for s in rows if s.entry == entry}
        each = [held_of([s for s in rows if s.author != author], DAY, before, ALIKE) for author in others]
        assert quick.get(entry) == (why if all(entry in there for there in each) else None)


def test_accounts_without_a_record_dispute_as_newcomers() -> None:
    """Three that have posted nothing had the price of an old hand wait; now it takes more than they weigh."""
    rows = market()
    standing = {s.author: Decimal(1) for s in rows}
    said = {rows[0].entry: Said(disputed_by=frozenset({"x", "y", "z"}))}
    assert [*held_of(rows, DAY, BEFORE, standing, said)] == [rows[0].entry]
    assert held_of(rows, DAY, NOW, standing, said) == {}
    known = {**standing, **dict.fromkeys("xyz", Decimal("0.9"))}
    assert [*held_of(rows, DAY, NOW, known, said)] == [rows[0].entry]


def test_accounts_without_a_record_do_not_bear_out_what_others_speak_against() -> None:
    """Two that have posted nothing confirm ten times the price, where an old hand has just said otherwise."""
    rows = [*market(), seen("33.0", "low-quay", "shrike")]
    standing = {s.author: Decimal(1) for s in rows} | {"shrike": Decimal("0.1")}
    said = {rows[-1].entry: Said(confirmed_by=frozenset({"x", "y"}))}
    assert held_of(rows, DAY, BEFORE, standing, said) == {}
    assert [*held_of(rows, DAY, NOW, standing, said)] == [rows[-1].entry]


def test_who_has_posted_nothing_is_as_settled_as_a_newcomer() -> None:
    """Not less, as counting down from a first posting would have it."""
    assert settled(Record(0, 0), STANDING) == settled(Record(1, 0), STANDING) == STANDING.newcomer
