"""What something comes to by its weight: a concave line, straight between its bends.

Where a price steps at a weight, what something comes to is not concave. The least that is, and is nowhere
below that, stands in its place.
"""

from __future__ import annotations

from bisect import bisect_right, insort
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise

LOW, LIKELY, HIGH = range(3)
Grams = tuple[int, int, int]
"""A weight, low, likely and high, in pieces of a gram as a tree has them."""
Exact = int | Fraction
"""A figure in pieces, whole but where it is between two steps of a price."""
Step = tuple[int, int]
"""From so many pieces of a gram on: what is paid for each."""


class Comes:
    """What something comes to by its weight: `worth` at the least that it can weigh, `at`, and from there on
    so much a gram more for so many grams each, the stretch that pays most first. `stretches` has the poorest
    first, each less `more`, which is added to all of them; `long`: how many grams all of them are.
    """

    __slots__ = ("at", "long", "more", "stretches", "worth")

    worth: Exact
    stretches: list[tuple[Exact, int]]

    def __init__(self, span: Grams, a_gram: int, fixed: int = 0) -> None:
        self.at, self.worth, self.more = span[LOW], fixed + a_gram * span[LOW], 0
        self.long = span[HIGH] - span[LOW]
        self.stretches = [(a_gram, self.long)] if self.long else []

    @classmethod
    def straight(cls, corners: Sequence[tuple[int, int]]) -> Comes:
        """What comes to so much at these weights, in order, and between two in a straight line."""
        at, worth = corners[0]
        found = cls((at, at, at), 0, worth)
        for (start, low), (stop, high) in pairwise(corners):
            found.stretches.insert(0, (_share(high - low, stop - start), stop - start))
        found.long = corners[-1][0] - corners[0][0]
        return found

    def tilt(self, a_gram: int) -> None:
        """So much more for each gram of it."""
        self.worth += a_gram * self.at
        self.more += a_gram

    def join(self, other: Comes) -> None:
        """Become both together, each as heavy as pays most; the fewer stretches are put among the many."""
        if len(other.stretches) > len(self.stretches):
            self.stretches, other.stretches = other.stretches, self.stretches
            self.more, other.more = other.more, self.more
        self.at += other.at
        self.worth += other.worth
        self.long += other.long
        for a_gram, grams in other.stretches:
            insort(self.stretches, (a_gram + other.more - self.more, grams))

    def rest(self, span: Grams, a_gram: int) -> None:
        """Become a piece that has all this in it and weighs what it may; what is left over pays a gram."""
        poor = 0
        while poor < len(self.stretches) and self.stretches[poor][0] + self.more <= 0:
            self.long -= self.stretches[poor][1]  # rather left over
            poor += 1
        room = max(span[HIGH] - self.at, 0)
        self.stretches[:poor] = [(-self.more, room)]
        self.long += room
        self.tilt(a_gram)
        self._weigh(span)

    def hold(self, span: Grams, room: Comes) -> None:
        """The same where what is left over pays by how much it is: `room`, within what there is room for."""
        self.join(room)
        self._weigh(span)

    def _weigh(self, span: Grams) -> None:
        """Keep to what it may weigh."""
        while self.at < span[LOW] and self.stretches:  # it has to be as heavy as that
            paid, grams = self.stretches.pop()
            taken = min(grams, span[LOW] - self.at)
            self.at += taken
            self.worth += (paid + self.more) * taken
            self.long -= taken
            if grams > taken:
                self.stretches.append((paid, grams - taken))
        most = max(span[HIGH] - self.at, 0)
        while self.long > most:  # and no heavier than this
            paid, grams = self.stretches[0]
            cut = min(grams, self.long - most)
            self.stretches[:1] = [(paid, grams - cut)] if grams > cut else []
            self.long -= cut

    @property
    def most(self) -> Exact:
        """What it comes to where it weighs what pays most."""
        return self.worth + sum(
            (a_gram + self.more) * grams for a_gram, grams in self.stretches if a_gram + self.more > 0
        )


def corners(steps: Sequence[Step], low: int, high: int) -> list[tuple[int, int]]:
    """Where the least concave line bends that is nowhere below what is paid from one weight to another: so
    many pieces, and what they come to. `steps`: from so many on so much a piece.
    """
    at = max(bisect_right([start for start, _ in steps], low) - 1, 0)
    points = [(low, steps[at][1] * low)]
    for (_, before), (start, each) in pairwise(steps[at:]):
        if start <= high:
            points.append((start, max(before * start, each * start)))
    if points[-1][0] < high:
        points.append((high, [each for start, each in steps if start <= high][-1] * high))
    corners: list[tuple[int, int]] = []
    for point in points:
        while len(corners) > 1 and _is_below(corners[-2], corners[-1], point):
            corners.pop()
        corners.append(point)
    return corners


def _is_below(one: tuple[int, int], two: tuple[int, int], three: tuple[int, int]) -> bool:
    """Whether the second point is not above the line through the others."""
    return (two[1] - one[1]) * (three[0] - one[0]) <= (three[1] - one[1]) * (two[0] - one[0])


def _share(figure: int, times: int) -> Exact:
    """A figure divided, as a whole number where it is one."""
    over, rest = divmod(figure, times)
    return Fraction(figure, times) if rest else over
