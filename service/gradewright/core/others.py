"""What all others say: the weighted median of a market, and the spread about it, with one author left out.

Nobody judges himself, so every author has medians of their own. They follow from sums over all claims, put in
order once, less those of the author: a market of n claims takes n log n, and not n for every author.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Callable, Sequence
from itertools import accumulate
from typing import NamedTuple


class Vote(NamedTuple):
    """One claim as whole numbers: what it says, how much it weighs, and who says it of which yard."""

    level: int
    weight: int
    author: str
    yard: str


class Rest(NamedTuple):
    """What others say: of how many yards, the median of it, and how far they are from it, in the median."""

    yards: int
    median: int
    spread: int


class Others:
    """The votes of one market, ascending by level; an author has at most one for each yard."""

    def __init__(self, votes: Sequence[Vote]) -> None:
        self._levels = [vote.level for vote in votes]
        self._sums = [0, *accumulate(vote.weight for vote in votes)]
        self._places: dict[str, list[int]] = {}
        for place, vote in enumerate(votes):
            self._places.setdefault(vote.author, []).append(place)
        self._votes = votes
        self._speakers = Counter(vote.yard for vote in votes)

    def yards_without(self, author: str) -> int:
        """How many yards others speak of."""
        places = self._places.get(author, ())
        alone = sum(self._speakers[self._votes[place].yard] == 1 for place in places)
        return len(self._speakers) - alone

    def median_without(self, author: str) -> int:
        """The weighted median of what others say. Raises ValueError where nobody else says anything."""
        mine = _Mine(self, author)
        if len(mine.places) == len(self._levels):
            raise ValueError("no weights to take a median of")
        place = _first(len(self._levels), lambda end: 2 * mine.others_before(end + 1) >= mine.total)
        while place in mine.places:  # only where the others weigh nothing at all
            place += 1
        return self._levels[place]

    def spread_without(self, author: str, about: int) -> int:
        """The weighted median of how far others are from `about`: the least distance that half are within."""
        mine, levels = _Mine(self, author), self._levels
        if not mine.total:
            left_out = set(mine.places)
            return min(abs(level - about) for at, level in enumerate(levels) if at not in left_out)

        def within(distance: int) -> bool:
            low, high = bisect_left(levels, about - distance), bisect_right(levels, about + distance)
            return 2 * (mine.others_before(high) - mine.others_before(low)) >= mine.total

        # The distance is that of a level from `about` upwards, or of one below it.
        begin, end = bisect_left(levels, about), len(levels)
        up = begin + _first(end - begin, lambda steps: within(levels[begin + steps] - about))
        down = begin - 1 - _first(begin, lambda steps: within(about - levels[begin - 1 - steps]))
        return min(abs(levels[place] - about) for place in (up, down) if 0 <= place < end)

    def without(self, author: str) -> Rest:
        """What others say, and how far they are from its median."""
        median = self.median_without(author)
        return Rest(self.yards_without(author), median, self.spread_without(author, median))


class _Mine:
    """The votes of one author among all: where they are, and what the others before a place weigh."""

    def __init__(self, others: Others, author: str) -> None:
        self.places = others._places.get(author, [])
        self._all = others._sums
        votes = others._votes
        self._mine = [0, *accumulate(votes[place].weight for place in self.places)]
        self.total = self._all[-1] - self._mine[-1]

    def others_before(self, place: int) -> int:
        """The weight of the others' votes before a place."""
        return self._all[place] - self._mine[bisect_left(self.places, place)]


def _first(count: int, holds: Callable[[int], bool]) -> int:
    """The first of `count` places from which on it holds; `count` where it never does."""
    return bisect_left(range(count), True, key=holds)
