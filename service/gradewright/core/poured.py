"""Lines put into bins that each have so much room, each line into any of the bins that it stands for.

As much as there is room for: by the shortest ways, on which what was put into a bin before may give way to
another of its own (J. Edmonds & R. M. Karp 1972, "Theoretical Improvements in Algorithmic Efficiency for
Network Flow Problems", J. ACM 19; from memory). In whole numbers.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from itertools import pairwise
from typing import TypeVar

Bins = frozenset[int]
Of = TypeVar("Of", bound=Hashable)
"""What is put into bins: lines, or all lines that stand for the same bins."""


def poured(
    left: dict[Of, int], room: dict[int, int], placed: dict[int, dict[Of, int]], stands: Mapping[Of, Bins]
) -> Bins:
    """Put what is left into bins with room, as much as goes: all three tables are changed. The bins that what
    is left then comes to, of which none has room; none where all is placed. `placed`: what is in each bin.
    """
    while any(left.values()):
        path, reached = _path(left, room, placed, stands)
        if not path:
            return reached
        most = min(left[path[0][0]], room[path[-1][1]])
        most = min([most, *(placed[at][of] for (_, at), (of, _) in pairwise(path))])
        left[path[0][0]] -= most
        room[path[-1][1]] -= most
        for number, (of, place) in enumerate(path):
            placed[place][of] = placed[place].get(of, 0) + most
            if number:
                placed[path[number - 1][1]][of] -= most
    return frozenset()


def _path(
    left: Mapping[Of, int],
    room: Mapping[int, int],
    placed: Mapping[int, Mapping[Of, int]],
    stands: Mapping[Of, Bins],
) -> tuple[list[tuple[Of, int]], Bins]:
    """The shortest way from lines that have some left to a bin with room, each step lines and the bin that
    they go to, from which the next ones give way; without one, all bins that such lines come to.
    """
    gave: dict[Of, int | None] = {of: None for of, amount in left.items() if amount}
    took: dict[int, Of] = {}
    for of in (waiting := list(gave)):
        for place in stands[of]:
            if place in took:
                continue
            took[place] = of
            if room[place]:
                return _back(place, took, gave), frozenset()
            further = [each for each, amount in placed[place].items() if amount and each not in gave]
            gave |= dict.fromkeys(further, place)
            waiting += further
    return [], frozenset(took)


def _back(place: int | None, took: Mapping[int, Of], gave: Mapping[Of, int | None]) -> list[tuple[Of, int]]:
    path: list[tuple[Of, int]] = []
    while place is not None:
        path.insert(0, (took[place], place))
        place = gave[took[place]]
    return path
