"""The comparer on pairs of small rulebooks of sides, held against every part that they can tell from another.

Of sides whose order comes, goes or is another one: also of those that lie between the same two cut points.
"""

from __future__ import annotations

from random import Random

import pytest
from tests.checks.proofs.compared import Tried, pair, with_limits

from gradewright.rulebooks.comparison import moves
from gradewright.rulebooks.comparison_places import of_places


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


def hold_at_places(seed: int) -> bool | None:
    """What moves by a place's own value of just those limits that are named, of parts that by the versions'
    own do not, or as none do; whether any does, None where parts move anyway."""
    tried = Tried(*with_limits(Random(seed)))
    moves = sorted(tried.moves(), key=str)
    found = of_places(tried.old, tried.new, {}, lambda what, done, of: None, moves)
    wanted = tried.at_places()
    named = {name for each in found for name in each.limits}
    assert bool(named) == bool(wanted)
    together = [each for each in found if len(each.limits) > 1]
    for each in found:
        between = set().union(*wanted.values()) if each in together else wanted[each.limits[0]]
        assert set(each.moves) <= between
        assert each in together or not each.complete or set(each.moves) == between
    assert named == set(wanted) or (together and set(wanted) == set(tried.old.limits))
    return None if moves else bool(named)


def test_what_moves_at_places_is_what_trying_every_value_of_their_own_shows() -> None:
    """Another limit of the same value, its value itself, rules in another order: named where it matters to
    some place, and only there."""
    found = [hold_at_places(seed) for seed in range(20)]
    assert found.count(True) > 1
    assert found.count(False) > 1


@pytest.mark.campaign
@pytest.mark.parametrize("first", range(40, 840, 40))
def test_eight_hundred_pairs_of_versions_with_limits(first: int) -> None:
    """The same of eight hundred pairs drawn with fixed seeds, counted."""
    found = [hold_at_places(seed) for seed in range(first, first + 40)]
    print(
        f"{first}: {found.count(True)} moved at places, {found.count(False)} not, {found.count(None)} anyway"
    )


@pytest.mark.campaign
@pytest.mark.parametrize("seed", range(24, 1024))
def test_a_thousand_pairs_of_versions(seed: int) -> None:
    """The same of a thousand pairs drawn with fixed seeds."""
    hold(seed)
