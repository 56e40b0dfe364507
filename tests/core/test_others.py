"""What all others say, without one of them: against the same worked out anew for every author."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradewright.core.others import Others, Vote

votes = st.lists(
    st.builds(
        Vote,
        st.integers(-5, 40),
        st.integers(0, 6),
        st.sampled_from("abcde"),
        st.sampled_from(["low-quay", "cinder-lane", "tern-row", "reed-end"]),
    ),
    min_size=1,
    max_size=20,
    unique_by=lambda vote: (vote.author, vote.yard),
).map(sorted)


def middle(weighted: Iterable[tuple[int, int]]) -> int:
    """The weighted median of (value, weight), ascending: the first that reaches half of the weight."""
    pairs = list(weighted)
    half, reached = sum(share for _, share in pairs), 0
    for value, share in pairs:
        reached += share
        if 2 * reached >= half:
            return value
    raise ValueError("no weights to take a median of")


@given(votes)
def test_each_author_is_left_out_of_what_the_others_say(said: list[Vote]) -> None:
    """Yards, median and spread are those of the votes of all others, gone through one by one."""
    others = Others(said)
    for author in {vote.author for vote in said} | {"nobody"}:
        left = [vote for vote in said if vote.author != author]
        assert others.yards_without(author) == len({vote.yard for vote in left})
        if not left:
            with pytest.raises(ValueError, match="no weights"):
                others.without(author)
            continue
        median = middle((vote.level, vote.weight) for vote in left)
        apart = sorted((abs(vote.level - median), vote.weight) for vote in left)
        rest = others.without(author)
        assert (rest.median, rest.spread) == (median, middle(apart))


def test_the_median_is_that_of_the_inverted_distribution_function() -> None:
    """As numpy works it out (Hyndman & Fan 1996, definition 1, with weights)."""
    said = [Vote(1, 3, "a", "p"), Vote(2, 1, "b", "q"), Vote(5, 2, "c", "r"), Vote(9, 4, "d", "s")]
    expected = np.quantile([1, 2, 5, 9], 0.5, weights=[3, 1, 2, 4], method="inverted_cdf")
    assert Others(said).median_without("nobody") == expected


@given(votes)
def test_whoever_is_left_out_the_medians_are_within_reach(said: list[Vote]) -> None:
    """Both ends hold for every author; there is no reach only where one of them may be half of all."""
    others = Others(said)
    weighs: dict[str, int] = {}
    for vote in said:
        weighs[vote.author] = weighs.get(vote.author, 0) + vote.weight
    reach = others.reach()
    assert (reach is None) is (2 * max(weighs.values()) >= sum(weighs.values()))
    medians = [others.median_without(author) for author in weighs] if reach is not None else []
    assert all(reach.lowest <= median <= reach.highest for median in medians if reach is not None)
    spreads = [others.without(author).spread for author in weighs] if reach is not None else []
    assert all(reach.spread <= spread for spread in spreads if reach is not None)
    assert others.fewest_yards() == min(others.yards_without(author) for author in weighs)


@given(votes, votes)
def test_what_comes_and_goes_is_within_a_wider_reach(said: list[Vote], more: list[Vote]) -> None:
    """Medians and spreads of another market are in the reach of this one, widened by what differs."""
    before, after = set(said), sorted({(v.author, v.yard): v for v in [*said, *more[:2]]}.values())[1:]
    reach = Others(said).reach(sum(vote.weight for vote in before ^ set(after)))
    if reach is None:
        return
    others = Others(after)
    for author in {vote.author for vote in after}:
        rest = others.without(author)
        assert reach.lowest <= rest.median <= reach.highest
        assert reach.spread <= rest.spread


def test_an_author_is_found_the_first_times_and_afterwards() -> None:
    """The same median, however often a market is asked."""
    said = [Vote(level, 1, f"a{level % 5}", f"y{level}") for level in range(15)]
    others = Others(said)
    first = [others.median_without(author) for author in ("a0", "a1", "a2", "a3", "a4") * 3]
    assert first == [middle((v.level, 1) for v in said if v.author != f"a{n % 5}") for n in range(15)]
