"""What all others say: the weighted median of a market, and the spread about it, with one author left out.

Nobody judges himself, so every author has medians of their own. They follow from sums over all claims, put in
order once, less those of the author: a market of n claims takes n log n, and not n for every author. Where
many speak all these medians lie close together, and `reach` tells between what at once: nearly every claim is
then judged without asking for its author's own.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Sequence
from functools import cached_property
from itertools import accumulate
from operator import itemgetter
from typing import NamedTuple

HALVINGS = 10  # in looking for the least spread: to a thousandth of the way from the lowest to the highest
LOOKS = 8  # along a line, before the places of all authors are kept


class Vote(NamedTuple):
    """One claim as whole numbers: what it says, how much it weighs, and who says it of which yard."""

    level: int
    weight: int
    author: str
    yard: str


_LEVEL, _WEIGHT, _AUTHOR, _YARD = (itemgetter(place) for place in range(4))


class Rest(NamedTuple):
    """What others say: of how many yards, the median of it, and how far they are from it, in the median."""

    yards: int
    median: int
    spread: int


class Reach(NamedTuple):
    """Between what the medians of others lie, whoever is left out, and how large the spread is at least."""

    lowest: int
    highest: int
    spread: int


class Others:
    """The votes of one market, ascending by level; an author has at most one for each yard."""

    def __init__(self, votes: Sequence[Vote]) -> None:
        self._votes = votes
        self._levels = _Line([*map(_LEVEL, votes)], votes)
        self._distances: dict[int, _Line] = {}
        speakers = Counter(map(_YARD, votes))
        self._yards = len(speakers)
        self._alone = Counter([vote.author for vote in votes if speakers[vote.yard] == 1])

    @property
    def most(self) -> int:
        """What the weightiest author weighs."""
        return self._levels.most

    def fewest_yards(self) -> int:
        """The fewest yards that others speak of, whoever is left out."""
        return self._yards - max(self._alone.values(), default=0)

    def yards_without_two(self) -> int:
        """So many yards at least others speak of, whichever two are left out."""
        return self._yards - sum(sorted(Counter(map(_AUTHOR, self._votes)).values())[-2:])

    def reach(self, besides: int = 0) -> Reach | None:
        """Between what all medians of others lie; None where one author's votes may be half of all.

        `besides`: also of any market whose votes differ from these by so much weight, come and gone together.
        """
        return self._levels.reach(besides)

    def yards_without(self, author: str) -> int:
        """How many yards others speak of."""
        return self._yards - self._alone[author]

    def median_without(self, author: str) -> int:
        """The weighted median of what others say. Raises ValueError where nobody else says anything."""
        return self._levels.middle_without(author)

    def spread_without(self, author: str, about: int) -> int:
        """The weighted median of how far others are from `about`: the least distance that half are within."""
        line = self._distances.get(about)
        if line is None:  # few: whoever is left out, the median is one of a handful of claims
            far = sorted((abs(vote.level - about), place) for place, vote in enumerate(self._votes))
            in_order = [self._votes[place] for _, place in far]
            line = self._distances[about] = _Line([distance for distance, _ in far], in_order)
        return line.middle_without(author)

    def without(self, author: str) -> Rest:
        """What others say, and how far they are from its median."""
        median = self.median_without(author)
        return Rest(self.yards_without(author), median, self.spread_without(author, median))


class _Line:
    """Weights along a line, ascending, and whose they are."""

    def __init__(self, values: Sequence[int], votes: Sequence[Vote]) -> None:
        self._values = values
        self._votes = votes
        self._looked = 0
        self._weights = [*map(_WEIGHT, votes)]
        self._sums = [0, *accumulate(self._weights)]

    def _places_of(self, author: str) -> list[int]:
        """Where an author's votes are: looked for the first times, as most lines are asked once or twice."""
        if self._looked < LOOKS:
            self._looked += 1
            return [place for place, whose in enumerate(map(_AUTHOR, self._votes)) if whose == author]
        return self._places.get(author, [])

    @cached_property
    def _places(self) -> dict[str, list[int]]:
        found: dict[str, list[int]] = {}
        for place, vote in enumerate(self._votes):
            found.setdefault(vote.author, []).append(place)
        return found

    @cached_property
    def most(self) -> int:
        """What the weightiest author weighs."""
        weighs: dict[str, int] = {}
        for _, weight, author, _ in self._votes:
            weighs[author] = weighs.get(author, 0) + weight
        return max(weighs.values(), default=0)

    def reach(self, besides: int) -> Reach | None:
        """Between what the middle is, whoever is left out, and from how far others are of it at least.

        Others weigh at least what all weigh less the weightiest author, who may stand below or above them.
        """
        total, away = self._sums[-1], self.most + 2 * besides
        if total <= 2 * away:
            return None
        least_half = (total - away + 1) // 2
        lowest = self._values[bisect_left(self._sums, least_half) - 1]
        highest = self._values[bisect_left(self._sums, (total + away + 1) // 2) - 1]
        # Whatever the middle, all within a distance of it are within that distance of the reach.
        near, far = 0, self._values[-1] - self._values[0]
        for _ in range(HALVINGS):
            apart = (near + far) // 2
            first, last = (
                bisect_left(self._values, lowest - apart),
                bisect_right(self._values, highest + apart),
            )
            if self._sums[last] - self._sums[first] + besides < least_half:
                near = apart
            else:
                far = apart
        return Reach(lowest, highest, near)

    def middle_without(self, author: str) -> int:
        """The first value up to which half of the others' weight lies. Raises ValueError without others."""
        places, sums = self._places_of(author), self._sums
        if len(places) == len(self._values):
            raise ValueError("no weights to take a median of")
        half = (sums[-1] - sum(self._weights[place] for place in places) + 1) // 2
        if half <= 0:  # the others weigh nothing at all: the first of them
            return next(value for place, value in enumerate(self._values) if place not in places)
        passed = begin = 0
        # Between two claims of the author's the others' sums are those of all, less what was passed.
        for place in places:
            end = bisect_left(sums, half + passed, begin, place + 1)
            if end <= place:
                return self._values[end - 1]
            passed, begin = passed + self._weights[place], place + 1
        return self._values[bisect_left(sums, half + passed, begin) - 1]
