"""Which yards speak for a large region: as few as asked, the same for everybody, and nobody's choice."""

from __future__ import annotations

from collections import Counter
from math import pi, sqrt
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

import gradewright.rulebooks
from gradewright.core.drawn import drawn
from gradewright.rulebooks.document import read_yaml

PUBLISHED = Path(gradewright.rulebooks.__file__).parent / "published"

yards = st.sets(st.text("abcdef-0123456789", min_size=1, max_size=8), max_size=40)
numbers = st.integers(1, 12)


@given(yards, numbers)
def test_as_many_as_asked_are_drawn(found: set[str], most: int) -> None:
    """All where there are no more than asked, and else so many of them, in whatever order they come."""
    chosen = drawn("copper-no1", found, most)
    assert chosen <= found
    assert len(chosen) == min(most, len(found))
    assert chosen == drawn("copper-no1", sorted(found, reverse=True), most)


@given(yards, st.text("uvw", min_size=1), numbers)
def test_a_yard_more_changes_one_at_most(found: set[str], another: str, most: int) -> None:
    """A yard that begins to pay for the grade takes the place of one, or of none."""
    before, after = (drawn("copper-no1", known, most) for known in (found, found | {another}))
    assert len(before - after) <= 1
    assert after - before <= {another}


def test_each_yard_is_drawn_as_often_as_any_other() -> None:
    """Over many grades each of 60 yards comes up about 24 times in 60: none speaks for all grades."""
    country = [f"yard-{number:02}" for number in range(60)]
    often = Counter(yard for grade in range(1000) for yard in drawn(f"grade-{grade}", country, 24))
    assert len(often) == len(country)
    assert all(320 < often[yard] < 480 for yard in country)  # 400; five times 15.5 to either side


def test_hardly_more_yards_would_help() -> None:
    """The median of as many as are drawn misses another yard by 5 % more than all of a country's would."""
    most = read_yaml(PUBLISHED / "2027.3.yaml").pricing.most_yards_above
    assert most is not None
    assert round(sqrt(1 + pi / (2 * most)), 2) == 1.05
