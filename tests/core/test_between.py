"""From what to what bins have of lines that stand for several: no way to divide them is beyond it."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from gradewright.core.between import between
from gradewright.core.filled import filled

Lines = dict[int, tuple[int, set[int], str]]
"""What each weighs, the bins that it stands for, and its grade."""


def found(brought: Mapping[int, int], lines: Lines) -> dict[tuple[int, str], tuple[Fraction, Fraction]]:
    """What is told, with whole numbers given."""
    weights = {place: Fraction(weight) for place, weight in brought.items()}
    stands = {line: (Fraction(weighs), frozenset(of)) for line, (weighs, of, _) in lines.items()}
    grades = {line: grade for line, (*_, grade) in lines.items()}
    told = between(weights, stands, grades, filled(weights, stands))
    return {(place, grade or ""): (each.least, each.most) for (place, grade), each in told.items()}


CASES: dict[str, tuple[dict[int, int], Lines, dict[tuple[int, str], tuple[int, int]]]] = {
    "a line of one bin is no question": ({0: 10}, {0: (9, {0}, "a")}, {}),
    "two bins on one line": (
        {0: 20, 1: 20}, {0: (30, {0, 1}, "a")}, {(0, "a"): (10, 20), (1, "a"): (10, 20)},
    ),
    "a line that fits into either": (
        {0: 20, 1: 20}, {0: (15, {0, 1}, "a")}, {(0, "a"): (0, 15), (1, "a"): (0, 15)},
    ),
    "one that has a line of its own": (
        {0: 20, 1: 20}, {0: (15, {0}, "b"), 1: (24, {0, 1}, "a")}, {(0, "a"): (4, 5), (1, "a"): (19, 20)},
    ),
    "all of both is there": (
        {0: 20, 1: 20}, {0: (15, {0}, "b"), 1: (25, {0, 1}, "a")}, {(0, "a"): (5, 5), (1, "a"): (20, 20)},
    ),
    "too much of both": (
        {0: 20, 1: 20}, {0: (15, {0}, "b"), 1: (27, {0, 1}, "a")}, {(0, "a"): (5, 7), (1, "a"): (20, 22)},
    ),
    "too much of one alone": (
        {0: 20, 1: 20}, {0: (25, {0}, "b"), 1: (12, {0, 1}, "a")}, {(1, "a"): (12, 12)},
    ),
    "lines of two grades": (
        {0: 20, 1: 20},
        {0: (18, {0, 1}, "a"), 1: (15, {0, 1}, "b")},
        {(0, "a"): (0, 18), (0, "b"): (0, 15), (1, "a"): (0, 18), (1, "b"): (0, 15)},
    ),
    "in a row": (
        {0: 10, 1: 10, 2: 10},
        {0: (10, {0, 1}, "a"), 1: (18, {1, 2}, "b")},
        {(0, "a"): (8, 10), (1, "a"): (0, 2), (1, "b"): (8, 10), (2, "b"): (8, 10)},
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_from_what_to_what(case: str) -> None:
    """By hand."""
    brought, lines, expected = CASES[case]
    assert found(brought, lines) == expected


@st.composite
def groups(draw: st.DrawFn) -> tuple[dict[int, int], Lines]:
    """Some bins, and lines that each stand for some of them."""
    brought = {place: draw(st.integers(1, 12)) for place in range(draw(st.integers(1, 4)))}
    bins = st.sets(st.sampled_from(sorted(brought)), min_size=1)
    of = st.tuples(st.integers(1, 15), bins, st.sampled_from("ab"))
    return brought, {line: draw(of) for line in range(draw(st.integers(1, 5)))}


@settings(max_examples=150)
@given(groups())
def test_no_way_is_beyond_it(group: tuple[dict[int, int], Lines]) -> None:
    """Of all ways to divide the lines, by a solver of linear programmes: no bin has more or less of a grade,
    and both ends are reached, but where there is too much of a bin whose lines are of several grades.
    """
    brought, lines = group
    weights = {place: Fraction(weight) for place, weight in brought.items()}
    stands = {line: (Fraction(weighs), frozenset(of)) for line, (weighs, of, _) in lines.items()}
    over = {
        place
        for one in filled(weights, stands)
        if sum(one.scale.values()) > sum(weights[place] for place in one.scale)
        for place in one.scale
    }
    # What can be of a bin that has room is of none that has too much already.
    ways = [(line, at) for line, (_, of, _) in lines.items() for at in sorted(of - over or of)]
    sign = {at: -1.0 if at in over else 1.0 for at in brought}
    programme = {
        "A_eq": [[float(line == each) for line, _ in ways] for each in lines],
        "b_eq": [float(weighs) for weighs, *_ in lines.values()],
        "A_ub": [[sign[each] * (at == each) for _, at in ways] for each in brought],
        "b_ub": [sign[at] * weight for at, weight in brought.items()],
    }
    for (place, grade), (least, most) in found(brought, lines).items():
        its = [float(at == place and lines[n][2] == grade and len(lines[n][1]) > 1) for n, at in ways]
        low, high = linprog(its, **programme).fun, -linprog([-each for each in its], **programme).fun
        several = len({of_grade for _, of, of_grade in lines.values() if place in of}) > 1
        if place in over and several:
            assert float(least) <= low + 1e-6
            assert high <= float(most) + 1e-6
        else:
            assert (float(least), float(most)) == (
                pytest.approx(low, abs=1e-6),
                pytest.approx(high, abs=1e-6),
            )


def test_many_bins_in_a_row_take_no_time() -> None:
    """A hundred lines, each of a bin and the next: of every bin it is told of both of its lines."""
    brought = {place: 20 + place * 7 % 13 for place in range(101)}
    lines: Lines = {line: (1 + line * 5 % 11, {line, line + 1}, "ab"[line % 2]) for line in range(100)}
    assert len(found(brought, lines)) == 200
