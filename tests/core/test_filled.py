"""What of each bin is on the scale, where lines stand for several: alike, as far as lines leave it open."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from itertools import chain, combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from gradewright.core.filled import Together, filled

Lines = dict[int, tuple[int, set[int]]]


def found(brought: Mapping[int, int], lines: Lines) -> list[Together]:
    """What is found, with whole numbers given."""
    return filled(
        {place: Fraction(weight) for place, weight in brought.items()},
        {line: (Fraction(weighs), frozenset(of)) for line, (weighs, of) in lines.items()},
    )


def on_scale(brought: Mapping[int, int], lines: Lines) -> dict[int, Fraction]:
    """What each bin has."""
    return {place: each for one in found(brought, lines) for place, each in one.scale.items()}


CASES: dict[str, tuple[dict[int, int], Lines, dict[int, str]]] = {
    "one bin has all of its lines": ({0: 10}, {0: (4, {0}), 1: (5, {0})}, {0: "9"}),
    "thrown together both are short by one share": ({0: 10, 1: 5}, {0: (12, {0, 1})}, {0: "8", 1: "4"}),
    "what is of one bin alone is no other's": (
        {0: 10, 1: 10},
        {0: (10, {0}), 1: (7, {0, 1})},
        {0: "10", 1: "7"},
    ),
    "what can be full is full": (
        {0: 10, 1: 10, 2: 10},
        {0: (10, {0, 1}), 1: (20, {1, 2})},
        {0: "10", 1: "10", 2: "10"},
    ),
    "some of a bin is on the line of another": (
        {0: 10, 1: 5},
        {0: (7, {0}), 1: (8, {0, 1})},
        {0: "10", 1: "5"},
    ),
    "too much is too much of both": ({0: 10, 1: 5}, {0: (7, {0}), 1: (11, {0, 1})}, {0: "12", 1: "6"}),
    "what two could have goes to the emptier one": (
        {0: 4, 1: 5, 2: 6},
        {0: (9, {0}), 1: (9, {1}), 2: (1, {0, 1, 2}), 3: (1, {0, 1})},
        {0: "9", 1: "10", 2: "1"},
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_bins_are_filled_alike(case: str) -> None:
    """By hand: each bin has what the case says."""
    brought, lines, scale = CASES[case]
    assert on_scale(brought, lines) == {place: Fraction(each) for place, each in scale.items()}


def test_lines_of_one_bin_and_of_several_are_told_apart() -> None:
    """Of the first line and of the last it is known which bin they are: what the last could have of the first
    bin too is not there, as that has more than was brought already.
    """
    one, other = sorted(
        found({0: 5, 1: 10}, {0: (9, {0}), 1: (8, {1}), 2: (1, {0, 1})}), key=lambda one: min(one.scale)
    )
    assert (one.own, one.shared, other.own, other.shared) == ({0: 0}, (), {1: 1, 2: 1}, ())
    (both,) = found({0: 10, 1: 5}, {0: (7, {0}), 1: (8, {0, 1})})
    assert (both.own, both.shared) == ({0: 0}, (1,))


@st.composite
def groups(draw: st.DrawFn) -> tuple[dict[int, int], Lines]:
    """Some bins, and lines that each stand for some of them."""
    brought = {place: draw(st.integers(1, 12)) for place in range(draw(st.integers(1, 5)))}
    bins = st.sets(st.sampled_from(sorted(brought)), min_size=1)
    return brought, {line: (draw(st.integers(1, 15)), draw(bins)) for line in range(draw(st.integers(0, 5)))}


@settings(max_examples=200)
@given(groups())
def test_it_can_be_and_nothing_is_more_alike(group: tuple[dict[int, int], Lines]) -> None:
    """Nothing is lost; no bins have more than their lines, nor less than the lines that are theirs alone; and
    none that has a larger share could give some to one that has a smaller.
    """
    brought, lines = group
    scale = on_scale(brought, lines)
    assert set(scale) == set(brought)
    assert sum(scale.values()) == sum(weighs for weighs, _ in lines.values())
    places = sorted(brought)
    for some in chain.from_iterable(combinations(places, n) for n in range(1, len(places) + 1)):
        most = sum(weighs for weighs, of in lines.values() if of & set(some))
        assert sum(scale[place] for place in some) <= most
    # Of all ways to divide them the least sum of squares: it falls in no direction that a way leaves open.
    # So no other way has less of the sum whose prices are the slopes there.
    of = [(line, place) for line, (_, bins) in lines.items() for place in sorted(bins)]
    if not of:
        return
    slope = {place: float(scale[place] / brought[place]) for place in places}
    least = linprog(
        [slope[place] for _, place in of],
        A_eq=[[float(line == at) for at, _ in of] for line in lines],
        b_eq=[float(weighs) for weighs, _ in lines.values()],
    )
    assert least.fun == pytest.approx(sum(float(scale[place]) * slope[place] for place in places))


def test_many_bins_in_a_row_take_no_time() -> None:
    """Two hundred lines, each of a bin and the next: what they weigh is all there."""
    brought = {place: 1 + place * 7 % 13 for place in range(200)}
    lines: Lines = {line: (1 + line * 5 % 11, {line, line + 1}) for line in range(199)}
    assert sum(on_scale(brought, lines).values()) == sum(weighs for weighs, _ in lines.values())
