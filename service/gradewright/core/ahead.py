"""A good order of tests, found by looking at all that can be answered, down to the end.

After each answer the most telling tests are tried, and what comes after them, so that the expected effort
is known and not guessed: of the most telling tests, the one with the least. Where there are no more than
these, it is the best.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from gradewright.core.answers import State
from gradewright.core.decision import Axis
from gradewright.core.prospects import Ends, Prospect, Prospects

FINE = 1 << 20  # expected efforts are rounded down to this part of an effort
Best = tuple[int, Axis | None]  # the expected effort, and the first test
NOTHING: Best = (0, None)


@dataclass(slots=True)
class Ahead:
    """Looks at no more than `most` states, and in each at the `width` most telling tests.

    `finished`: whether no more need be asked of a part that ends at one of these. `skip`: the bits of the
    attributes that nobody can tell.
    """

    prospects: Prospects
    finished: Callable[[Ends], bool]
    skip: int
    width: int
    most: int
    _found: dict[State, Best] = field(default_factory=dict)

    def best(self, state: State) -> Axis | None:
        """The first test of the order found; None if none can be made or is needed.

        Raises `TooManyError` where it would have to look at more states than it may.
        """
        return self._search(state, self.prospects.ends(state.possible, state.known))[1]

    def _search(self, state: State, ends: Ends) -> Best:
        if self.finished(ends):
            return NOTHING
        found = self._found.get(state)
        if found is not None:
            return found
        if len(self._found) >= self.most:
            raise TooManyError
        best = self._found[state] = NOTHING  # and so it stays where nothing can be asked
        for prospect in self.prospects.best(state, self.skip)[: self.width]:
            expected = self._expected(prospect, best)
            if best is NOTHING or expected < best[0]:
                best = self._found[state] = (expected, prospect.axis)
        return best

    def _expected(self, prospect: Prospect, best: Best) -> int:
        """What a test costs with all that comes after it; stops early once it is no better than `best`."""
        effort = prospect.effort * FINE
        sizes = [outlook.size for outlook in prospect.outlooks]
        total = sum(sizes)
        if not total:  # nothing fits: any answer is as likely
            sizes, total = [1] * len(sizes), len(sizes)
        for size, outlook in zip(sizes, prospect.outlooks, strict=True):
            if best is not NOTHING and effort >= best[0]:
                break
            effort += self._search(outlook.state, outlook.ends)[0] * size // total
        return effort


class TooManyError(Exception):
    """There are more states than may be looked at."""
