"""Where only two members speak of a grade and contradict each other, who weighs more is believed.

By the rules of prices of version 2027.6, and by those of 2027.5.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from functools import cache
from types import MappingProxyType

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from tests.core.test_holding import DAY, POUND, seen

from gradewright.core.consensus import Quote, quote
from gradewright.core.holding import marked, sifted
from gradewright.core.rates import Rate
from gradewright.core.rulebook import Pricing
from gradewright.core.sightings import Sighting
from gradewright.core.spoken import level
from gradewright.core.standing import Record, settled, standings
from gradewright.core.word_against_word import one_against_one
from gradewright.rulebooks.document import read_yaml
from gradewright.rulebooks.shipped import FOLDER

OLD_HAND, HALF_SETTLED, NEW = Record(50, 400), Record(4, 14), Record(1, 0)
YARDS = ("low-quay", "cinder-lane", "tern-row", "dell-side", "moor-end", "far-side")


@cache
def rules(version: str) -> Pricing:
    """How a version counts prices."""
    return read_yaml(FOLDER / f"{version}.yaml").pricing


def judged(rows: list[Sighting], records: dict[str, Record], pricing: Pricing) -> Quote:
    """The price of a grade, by authors of these records whose standing is by what they claim."""
    weighed = standings({"copper-no2": rows}, DAY, records, pricing)
    out = sifted(rows, DAY, pricing, weighed)
    found = quote(marked(rows, out.borne_out), DAY, Decimal(0), pricing, weighed, out.gone)
    assert found is not None
    return found


def stands(
    ours: list[Sighting],
    others: list[Sighting],
    waiting: Sequence[Sighting] = (),
    weighs: Mapping[str, Decimal] = MappingProxyType({}),
) -> bool:
    """Whether what one says stays against what others do."""
    holding = rules("2027.6").holding
    assert holding is not None
    return one_against_one(ours, others, waiting, holding, weighs)


def one_regular() -> list[Sighting]:
    """One member's prices at three yards: 3.30, 3.32 and 3.35."""
    prices = zip(("3.30", "3.32", "3.35"), YARDS, (1, 2, 1), strict=False)
    return [seen(price, yard, "wren", days=days) for price, yard, days in prices]


@pytest.mark.parametrize("regular", [OLD_HAND, HALF_SETTLED], ids=["old hand", "half settled"])
@pytest.mark.parametrize("price", ["33.0", "9.0", "6.0", "0.33"])
@pytest.mark.parametrize(
    "yards", [YARDS[:2], YARDS[3:5], YARDS[:3], YARDS], ids=["two", "others", "all", "six"]
)
def test_who_is_new_takes_no_price_from_the_only_regular(
    yards: tuple[str, ...], price: str, regular: Record
) -> None:
    """At two of the three yards, at two others, at all, and at three more besides: it is what it was."""
    rows = [*one_regular(), *(seen(price, yard, "shrike") for yard in yards)]
    records = {"wren": regular, "shrike": NEW}
    found = judged(rows, records, rules("2027.6"))
    assert Decimal("3.30") <= found.likely.price <= Decimal("3.35")


def test_by_the_version_before_it_was_theirs() -> None:
    """33.0 at two yards, of which the regular sees one: seen red before the rule was there."""
    rows = [*one_regular(), *(seen("33.0", yard, "shrike") for yard in YARDS[:2])]
    assert judged(rows, {"wren": OLD_HAND, "shrike": NEW}, rules("2027.5")).likely.price == Decimal("33.0")


@pytest.mark.parametrize(
    ("mine", "theirs", "stays"),
    [(2, 2, True), (2, 3, False), (3, 3, True), (3, 2, True), (1, 3, False), (4, 5, True)],
)
def test_of_two_who_weigh_the_same_it_is_who_alone_speaks_of_enough_yards(
    mine: int, theirs: int, stays: bool
) -> None:
    """Of three: else the price stays."""
    ours = [seen("33.0", yard, "shrike") for yard in YARDS[:mine]]
    others = [seen("3.30", yard, "wren") for yard in YARDS[:theirs]]
    assert stands(ours, others) is stays
    assert stands(ours, others, weighs={"shrike": Decimal("0.2"), "wren": Decimal("0.1")})
    assert not stands(ours, others, weighs={"shrike": Decimal("0.1"), "wren": Decimal("0.2")})


@pytest.mark.parametrize(
    ("waiting", "stays"),
    [
        ([("33.5", "lb", "siskin")], True),
        ([("73.85", "kg", "siskin")], True),
        ([("33.5", "kg", "siskin")], False),  # for so much more it is another price
        ([("33.5", "lb", "shrike"), ("33.5", "lb", "wren")], False),  # their own speak for neither
        ([("33.5", "lb", "siskin"), ("3.31", "lb", "crake")], False),  # as many for the one as for the other
        ([("33.5", "lb", "siskin"), ("33.4", "lb", "siskin"), ("3.31", "lb", "crake")], False),
    ],
)
def test_prices_that_wait_speak_for_those_they_agree_with(
    waiting: list[tuple[str, str, str]], stays: bool
) -> None:
    """Of others than the two, each once, whatever mass they are told for; without more of them the heavier
    one's price stands."""
    ours, others = [seen("33.0", "low-quay", "shrike")], [seen("3.30", yard, "wren") for yard in YARDS[:3]]
    grams = {"lb": POUND, "kg": Decimal(1000)}
    wait = [
        seen(price, "hill-top", who)._replace(rate=Rate(Decimal(price), grams[per]))
        for price, per, who in waiting
    ]
    weighs = {"shrike": Decimal("0.1"), "wren": Decimal(1)}
    assert stands(ours, others, wait, weighs) is stays


@pytest.mark.parametrize("price", ["33.0", "0.33"])
def test_who_is_new_at_two_yards_takes_no_price_from_who_is_new_at_three(price: str) -> None:
    """Also by tickets, from a tenth to ten times: each of the two weighs by what they claim."""
    rows = [*one_regular(), *(seen(price, yard, "shrike", evidence="ticket") for yard in YARDS[3:5])]
    found = judged(rows, {"wren": NEW, "shrike": NEW}, rules("2027.6"))
    assert Decimal("3.30") <= found.likely.price <= Decimal("3.35")


def test_against_two_nobody_stands() -> None:
    """It is no more word against word."""
    others = [seen("3.30", "low-quay", "wren"), seen("3.31", "low-quay", "siskin")]
    assert not stands([seen("33.0", yard, "shrike") for yard in YARDS], others)


def test_two_others_are_believed_whatever_one_weighs() -> None:
    """An old hand's tenfold price at many yards, against two who are new and say the same of two yards."""
    rows = [seen("3.30", "low-quay", "wren"), seen("3.35", "cinder-lane", "siskin")]
    rows += [seen("33.0", yard, "shrike") for yard in YARDS[2:]]
    records = {"wren": NEW, "siskin": NEW, "shrike": OLD_HAND}
    assert Decimal("3.30") <= judged(rows, records, rules("2027.6")).likely.price <= Decimal("3.35")


@pytest.mark.parametrize(
    ("waits", "likely"), [(None, "33.0"), ("3.40", "3.35"), ("32.0", "33.0"), ("9.00", "33.0")]
)
def test_whose_price_waits_speaks_for_the_one_that_it_agrees_with(waits: str | None, likely: str) -> None:
    """An old hand's 33.0 at five yards, against somebody new at three, at 3.30 to 3.35: it is the old hand's,
    unless a third one's price waits that agrees with the new one's."""
    weighs = {"wren": Decimal("0.1"), "siskin": Decimal("0.1"), "shrike": Decimal(1)}
    rows = [*one_regular(), *(seen("33.0", yard, "shrike") for yard in (*YARDS[1:], "hill-top"))]
    also = [] if waits is None else [seen(waits, "hill-top", "siskin")]
    held = {s.entry for s in also}
    found = quote([*rows, *also], DAY, Decimal(0), rules("2027.6"), weighs, held)
    assert found is not None
    assert found.likely.price == Decimal(likely)


@given(
    st.lists(st.tuples(st.integers(300, 400), st.integers(0, 60), st.integers(0, 2)), min_size=3, max_size=6),
    st.integers(1, 60),
    st.lists(
        st.tuples(st.sampled_from(YARDS), st.integers(0, 9)), min_size=1, max_size=6, unique_by=lambda e: e[0]
    ),
    st.sampled_from(["ticket", "sign"]),
)
@example([(330, 1, 0), (332, 2, 0), (335, 1, 0)], 330, [("low-quay", 0), ("cinder-lane", 0)], "sign")
@settings(max_examples=300, deadline=None)
def test_who_is_new_never_takes_the_price_out_of_what_old_hands_say(
    others: list[tuple[int, int, int]], tenths: int, mine: list[tuple[str, int]], evidence: str
) -> None:
    """Whatever price, at however many yards: where one or more old hands speak of three yards and more."""
    rows = [
        seen(f"{cents / 100:.2f}", YARDS[number], f"author-{who}", days=days)
        for number, (cents, days, who) in enumerate(others)
    ]
    records = {s.author: OLD_HAND for s in rows} | {"shrike": NEW}
    attack = [seen(f"{tenths / 10:.1f}", yard, "shrike", days=days, evidence=evidence) for yard, days in mine]
    found = judged([*rows, *attack], records, rules("2027.6"))
    levels = [level(s.rate) for s in rows]
    assert min(levels) <= level(found.likely) <= max(levels)


def test_the_least_is_as_much_less_as_one_is_less_settled() -> None:
    """Who contradicts all others: an old hand weighs 0.05, who is new a twentieth of the 0.1 of theirs."""
    rows = [seen("3.30", yard, f"member-{n}") for n, yard in enumerate(YARDS)]
    rows += [seen("33.0", yard, who) for who in ("old", "new") for yard in YARDS]
    records = {s.author: OLD_HAND for s in rows} | {"new": NEW}
    for version, least in (("2027.5", "0.05"), ("2027.6", "0.005")):
        weighed = standings({"copper-no2": rows}, DAY, records, rules(version))
        assert (weighed["old"], weighed["new"]) == (Decimal("0.05"), Decimal(least))
    newcomer = rules("2027.6").standing
    assert newcomer is not None
    assert settled(NEW, replace(newcomer)) == Decimal("0.1")
