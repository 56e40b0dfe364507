"""The comparer on pairs of small rulebooks of sides, held against every part that they can tell from another.

Of sides whose order comes, goes or is another one: also of those that lie between the same two cut points.
"""

from __future__ import annotations

from random import Random

import pytest
from tests.checks.proofs.compared import Tried, pair

from gradewright.rulebooks.comparison import moves


def hold(seed: int) -> None:
    """Each move that trying every part shows is told, and no other is; what shows one does, and nothing in it
    can be spared."""
    tried = Tried(*pair(Random(seed)))
    found = moves(tried.old, tried.new)
    assert {(move.before, move.after) for move in found} == tried.moves()
    for move in found:
        for way in move.ways:
            told = tried.read(way)
            assert tried.shows(told, move.before, move.after), (move.before, move.after, way)
            for name in told:
                fewer = {other: value for other, value in told.items() if other != name}
                assert not tried.shows(fewer, move.before, move.after), (name, way)


@pytest.mark.parametrize("seed", [*range(24), 288])
def test_what_moves_between_two_versions_is_what_trying_every_part_shows(seed: int) -> None:
    """Whatever changes of rules, forms, impossible entries and orders: the same moves, each shown."""
    hold(seed)


@pytest.mark.campaign
@pytest.mark.parametrize("seed", range(24, 1024))
def test_a_thousand_pairs_of_versions(seed: int) -> None:
    """The same of a thousand pairs drawn with fixed seeds."""
    hold(seed)
