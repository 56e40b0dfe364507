"""What devices of a kind are made of: everybody one vote, and few records say so."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from math import lcm

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gradewright.core.composition import (
    ENOUGH,
    NEWEST,
    Piece,
    Record,
    Spread,
    quantile,
    spread_of,
    typical,
    voted,
)

HALF = Fraction(1, 2)


def device(
    voice: str, order: int = 1, whole: str | None = "100", minutes: str | None = None, **grams: str
) -> Record:
    """One device, its parts in grams by grade; `steel_heavy` stands for steel-heavy."""
    pieces = tuple(Piece(name.replace("_", "-"), Decimal(weight)) for name, weight in grams.items())
    told = (None if text is None else Decimal(text) for text in (whole, minutes))
    return Record(f"c-{voice}-{order}", voice, (order, 1), pieces, *told)


@st.composite
def records(draw: st.DrawFn) -> list[Record]:
    """Up to a dozen devices of up to nine people, with up to three grades and perhaps a rest."""
    found = []
    for number in range(draw(st.integers(1, 12))):
        parts = draw(
            st.dictionaries(st.sampled_from(["iron", "copper", "brass"]), st.integers(1, 30), min_size=1)
        )
        pieces = tuple(Piece(grade, Decimal(grams)) for grade, grams in parts.items())
        whole = Decimal(sum(parts.values()) + draw(st.integers(0, 20)))
        minutes = draw(st.none() | st.integers(1, 90).map(Decimal))
        voice = draw(st.sampled_from("abcdefghi"))
        found.append(Record(f"c-{number}", voice, (number, 1), pieces, whole, minutes))
    return found


def test_medians_of_seven_people() -> None:
    """Seven devices of seven people give the median and the second from either end, and say of how many."""
    known = [device("abcdefg"[n], whole="100", iron=str(50 + n), minutes=str(10 * n)) for n in range(7)]
    found = typical(known)
    assert found is not None
    (iron,) = found.parts
    assert iron.share == Spread(Fraction(51, 100), Fraction(53, 100), Fraction(55, 100))
    assert iron.grams == Spread(Fraction(51), Fraction(53), Fraction(55))
    assert found.rest == Spread(Fraction(45, 100), Fraction(47, 100), Fraction(49, 100))
    assert found.minutes == Spread(Fraction(10), Fraction(30), Fraction(50))
    assert (found.records, found.voices, iron.found) == (7, 7, 7)
    assert found.says == ("From 7 devices that 7 people have taken apart.",)


@pytest.mark.parametrize(("n", "low", "high"), [(1, "1/2", "3/2"), (2, "2/3", "4/3"), (3, "3/4", "5/4")])
def test_fewer_than_four_are_widened(n: int, low: str, high: str) -> None:
    """Of one, two and three devices alike the extremes are widened by one part in one more than they are."""
    found = typical([device("abc"[i], i, iron="40", minutes="60") for i in range(n)])
    assert found is not None
    assert found.minutes == Spread(60 * Fraction(low), Fraction(60), 60 * Fraction(high))
    assert f"widened by one part in {n + 1}" in found.says[-1]


def test_few_people_have_their_extremes_told() -> None:
    """With fewer voices than quartiles need, low and high are the least and the most that anybody found."""
    found = typical([device("ab"[i % 2], i, iron=str(40 + i)) for i in range(6)])
    assert found is not None
    share = found.parts[0].share
    assert share is not None
    assert (share.low, share.high) == (Fraction(40, 100), Fraction(45, 100))
    assert "extremes" in found.says[-1]


def test_one_person_says_that_it_is_one() -> None:
    """Many devices of one person are still one person's."""
    found = typical([device("a", i, iron="40") for i in range(5)])
    assert found is not None
    assert "one person" in found.says[0]


@given(st.integers(1, 40), st.lists(st.integers(30, 50), min_size=3, max_size=6))
@settings(max_examples=30)
def test_nobody_moves_the_likely_share_alone(many: int, honest: list[int]) -> None:
    """However many records somebody makes, the median stays within what three or more others found."""
    known = [device(f"h{i}", i, iron=str(grams), rest=str(100 - grams)) for i, grams in enumerate(honest)]
    known += [device("x", 100 + i, iron="1", rest="99") for i in range(many)]
    found = typical(known)
    assert found is not None
    iron = next(part.share for part in found.parts if part.grade == "iron")
    assert iron is not None
    assert Fraction(min(honest), 100) <= iron.likely <= Fraction(max(honest), 100)


def test_nobody_alone_is_a_quartile_of_enough() -> None:
    """From `ENOUGH` voices on one liar is beyond low and high, however often they speak."""
    known = [device(f"h{i}", i, iron=str(40 + i)) for i in range(ENOUGH - 1)]
    known += [device("x", 100 + i, iron="99") for i in range(NEWEST)]
    found = typical(known)
    assert found is not None
    assert found.parts[0].share is not None
    assert found.parts[0].share.high <= Fraction(45, 100)


def test_only_the_newest_of_a_person_count() -> None:
    """What somebody found last counts, with one vote in all; what came before the newest does not."""
    known = [device("a", i, iron=str(i + 1)) for i in range(NEWEST + 3)]
    votes = voted(known)
    assert [record.order[0] for record, _ in votes] == list(range(NEWEST + 2, 2, -1))
    assert sum(vote for _, vote in votes) == 1


def test_likely_shares_are_a_whole() -> None:
    """Where medians of grades add up to less than the device, they are brought to it together."""
    known = [device("a", 1, iron="80"), device("b", 2, iron="50", brass="50"), device("c", 3, copper="60")]
    found = typical(known)
    assert found is not None
    likely = {part.grade: part.share.likely for part in found.parts if part.share}
    assert likely == {"iron": Fraction(5, 7), "copper": 0, "brass": 0}
    assert found.rest is not None
    assert found.rest.likely == Fraction(2, 7)


def test_devices_that_have_nothing_in_common() -> None:
    """Where no grade is in half of the devices the likely shares are the means, which are a whole too."""
    known = [device(name, 1, **{name: "100"}) for name in ("iron", "brass", "copper")]
    found = typical(known)
    assert found is not None
    assert {part.share.likely for part in found.parts if part.share} == {Fraction(1, 3)}


def test_a_scale_s_hair_is_no_part_of_it() -> None:
    """Parts that weigh a little more than the whole together are the whole."""
    found = device("a", iron="50.5", brass="50.5").shares()
    assert found == {"iron": HALF, "brass": HALF}


def test_publications_stand_in_for_people() -> None:
    """What a publication says counts until somebody has taken one apart; figures from memory say so."""
    read = Record("c-1", "published: x", (1, 1), (Piece("iron", share=Decimal("0.4")),), published=True)
    recalled = Record(
        "c-2", "published: y", (2, 1), (Piece("iron", share=Decimal("0.6")),), published=True, unsure=True
    )
    alone = typical([read, recalled])
    assert alone is not None
    assert alone.published
    assert alone.parts[0].share is not None
    assert alone.parts[0].share.likely == HALF
    assert "memory" in alone.says[1]
    found = typical([read, recalled, device("a", 3, iron="90")])
    assert found is not None
    assert not found.published
    assert (found.records, found.voices) == (1, 1)


def test_weights_without_a_whole_are_weights_only() -> None:
    """A record that does not know the whole counts for grams, and for no share."""
    found = typical([device("a", whole=None, iron="700", copper="30")])
    assert found is not None
    iron = found.parts[0]
    assert (iron.grade, iron.share) == ("iron", None)
    assert iron.grams is not None
    assert iron.grams.likely == 700
    assert "no shares" in found.says[-1]


def test_shares_are_of_those_who_weighed_the_whole() -> None:
    """One of three weighed the whole, and two found copper too: nobody knows what share that is, and the
    share of iron is said to be of one device, and widened as that. It was told as no copper before.
    """
    known = [device("a", iron="41", whole="70"), *(device(v, 1, None, iron="41", copper="2") for v in "bc")]
    found = typical(known)
    assert found is not None
    by_grade = {part.grade: part for part in found.parts}
    assert by_grade["copper"].share is None
    assert by_grade["copper"].grams is not None
    assert (by_grade["copper"].grams.likely, by_grade["copper"].found) == (2, 2)
    share = Fraction(41, 70)
    assert by_grade["iron"].share == Spread(share / 2, share, share * 3 / 2)
    assert found.shares_of == (1, 1)
    assert (found.records, found.voices) == (3, 3)
    assert found.says[-2:] == (
        "Shares are by 1 of them, which alone tells the whole weight, and widened by one part in 2.",
        "Of 1 grade that only others have no share is known: what they weigh is told.",
    )
    before = typical(known, every=True)
    assert before is not None
    assert {part.grade: part.share for part in before.parts}["copper"] == Spread(*[Fraction(0)] * 3)
    assert before.says == found.says[:-2]


def test_who_weighed_the_whole_are_enough_by_themselves() -> None:
    """Seven people are enough for quartiles; where four of them weighed the whole, shares are extremes."""
    known = [
        device(v, whole="100" if v in "abcd" else None, iron=str(40 + n)) for n, v in enumerate("abcdefg")
    ]
    found = typical(known)
    assert found is not None
    (iron,) = found.parts
    assert iron.share is not None
    assert iron.grams is not None
    assert (iron.share.low, iron.share.high) == (Fraction(40, 100), Fraction(43, 100))
    assert (iron.grams.low, iron.grams.high) == (41, 45)
    share = found.spread(lambda shares: shares["iron"])
    assert share == Spread(Fraction(40, 100), Fraction(415, 1000), Fraction(43, 100))
    assert found.says[-1] == "Shares are by 4 of them, which alone tell the whole weight, and extremes."


def test_pieces_are_counted_where_all_are_told() -> None:
    """How many pieces of a grade there are is the median over the records that count theirs."""
    counted = [Record(f"c-{n}", f"v{n}", (n, 1), (Piece("motors", Decimal(5), count=n),)) for n in (1, 3, 9)]
    found = typical([*counted, device("z", motors="5")])
    assert found is not None
    assert found.parts[0].count is not None
    assert found.parts[0].count.likely == 3
    assert found.parts[0].found == 4


def test_no_record_says_nothing() -> None:
    """Of a kind without records nothing is typical."""
    assert typical([]) is None


@given(records())
@settings(max_examples=60)
def test_shares_are_always_a_whole(known: list[Record]) -> None:
    """Whatever was recorded, likely shares and rest are one together, each between its low and its high."""
    found = typical(known)
    assert found is not None
    assert found.rest is not None
    shares = [part.share for part in found.parts if part.share] + [found.rest]
    assert sum(share.likely for share in shares) == 1
    assert all(0 <= share.low <= share.likely <= share.high <= 1 for share in shares)


@given(records(), st.randoms())
@settings(max_examples=30)
def test_the_order_of_records_does_not_matter(known: list[Record], chance: object) -> None:
    """The same records in another order say the same."""
    mixed = list(known)
    chance.shuffle(mixed)  # type: ignore[attr-defined]
    assert typical(mixed) == typical(known)


@given(st.lists(st.tuples(st.integers(0, 50), st.integers(1, 8)), min_size=1, max_size=15))
@settings(max_examples=60)
def test_quantiles_as_others_compute_them(told: list[tuple[int, int]]) -> None:
    """The weighted quantiles are numpy's averaged_inverted_cdf of a list in which each value stands as often
    as its vote says; the quartiles of `spread_of` from enough voices on are those."""
    whole = lcm(*(parts for _, parts in told))
    repeated = [value for value, parts in told for _ in range(whole // parts)]
    votes = sorted((Fraction(value), Fraction(1, parts)) for value, parts in told)
    expected = [float(np.quantile(repeated, q, method="averaged_inverted_cdf")) for q in (0.25, 0.5, 0.75)]
    assert [float(quantile(votes, Fraction(n, 4))) for n in (1, 2, 3)] == expected
    spread = spread_of(votes, ENOUGH)
    assert [float(each) for each in (spread.low, spread.likely, spread.high)] == expected


def test_a_figure_of_a_whole_device() -> None:
    """What parts pay together is worked out for each device first: lows of all grades are not in one."""
    known = [device("abcdefg"[n], n, iron=str(10 * n + 10), brass=str(80 - 10 * n)) for n in range(7)]
    found = typical(known)
    assert found is not None
    pays = found.spread(lambda shares: 2 * shares.get("iron", Fraction(0)) + 3 * shares["brass"])
    each = sorted(Fraction(2 * (10 * n + 10) + 3 * (80 - 10 * n), 100) for n in range(7))
    assert pays == Spread(each[1], each[3], each[5])
