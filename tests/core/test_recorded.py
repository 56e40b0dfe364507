"""What devices of a kind weigh by their records, and which weight is like none of them."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from gradewright.core.composition import Piece, Record
from gradewright.core.unusual import NEWEST_OTHERS, WEIGHT, Judging, recorded

few = settings(max_examples=60, deadline=None, derandomize=True)


def record(number: int, voice: str, grams: str | None) -> Record:
    """A device of one grade."""
    piece = Piece("copper-no2", grams=Decimal(grams or 1))
    return Record(f"r{number}", voice, (number, 0), (piece,), None if grams is None else Decimal(grams))


def records(*grams: str) -> list[Record]:
    """One of each of so many people, the oldest first."""
    return [record(number, f"p{number}", each) for number, each in enumerate(grams)]


def test_where_nobody_told_a_weight_any_will_do() -> None:
    """Without a weight of a whole device nothing is known of what they weigh."""
    assert recorded([record(0, "p", None)]) is None
    assert recorded([]) is None


def test_of_few_only_three_times_is_far_off() -> None:
    """Two people do not tell how much devices differ: from a third of the median up to three times it."""
    found = recorded(records("90", "110"))
    assert found is not None
    assert (found.low, found.median, found.high) == (90, 100, 110)
    assert (found.least, found.most) == (Fraction(100, 3), 300)
    assert [found.unlike(Fraction(grams)) for grams in ("33.3", "33.4", "300", "300.1")] == [
        True, False, False, True,
    ]  # fmt: skip
    assert [found.about(Fraction(grams)) for grams in ("40", "60", "1240", "1260")] == [0, 1, 12, 13]


def test_everybody_counts_once_and_by_the_newest() -> None:
    """The median is over people, each by their newest record; low and high are over all that count."""
    known = [
        *records("90", "100", "110"),
        record(7, "p0", "100"),
        record(9, "p1", "100"),
        record(8, "p1", "400"),
    ]
    found = recorded(known)
    assert found is not None
    assert (found.low, found.median, found.high) == (90, 100, 400)
    assert (found.least, found.most) == (Fraction(100, 3), 600)
    between = recorded(known, near=False)
    assert between is not None
    assert (between.least, between.most) == (Fraction(100, 3), 400)
    before = recorded(known, by_far=True)
    assert before is not None
    assert before.most == 100 + Fraction(7, 2) * Fraction(100, 6) / Fraction("0.6745")


def test_of_many_people_the_newest_count() -> None:
    """Of more people than records are held against, those who recorded one last."""
    known = records(*["900"] * NEWEST_OTHERS, *["100"] * NEWEST_OTHERS)
    found = recorded(known)
    assert found is not None
    assert found.median == 100


@few
@given(
    weights=st.lists(st.integers(50, 400), min_size=3, max_size=9),
    grams=st.integers(1, 2000),
)
def test_it_is_far_off_where_a_record_of_it_would_be(weights: list[int], grams: int) -> None:
    """A weight is like no device that was recorded exactly where a record of it by somebody else is odd, and
    it is not within a half of any that was recorded, nor between two; once only what lies between two was,
    and before that it did not matter whether it does.
    """
    known = records(*map(str, weights))
    found, between, before = recorded(known), recorded(known, near=False), recorded(known, by_far=True)
    assert found is not None
    assert between is not None
    assert before is not None
    odd = WEIGHT in {one.what for one in Judging(known).odd(record(99, "somebody else", str(grams)))}
    assert before.unlike(Fraction(grams)) == odd
    assert between.unlike(Fraction(grams)) == (odd and not min(weights) <= grams <= max(weights))
    near = 2 * min(weights) <= 3 * grams and 2 * grams <= 3 * max(weights)
    assert found.unlike(Fraction(grams)) == (odd and not near)
