"""A good order of tests, found by looking at all that can be answered, down to the end.

After each answer the most telling tests are tried, and what comes after them, so that the expected effort
is known and not guessed: of the most telling tests, the one with the least. Where there are no more than
these, it is the best. Where asking may stop, what is lost by that counts as effort.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from gradewright.core.answers import State
from gradewright.core.decision import Axis
from gradewright.core.prospects import Ends, Prospect
from gradewright.core.uncertainty import Masses

FINE = 1 << 20  # expected efforts are rounded down to this part of an effort
Best = tuple[int, Axis | None]  # the expected effort, and the first test; None where it stops
NOTHING: Best = (0, None)
Stop = Callable[[Ends, Masses], int | None]
"""What is lost by stopping among some ends, in fine efforts; 0 where no more need be asked, None where more
has to be.
"""


class Bill(NamedTuple):
    """What an order of tests takes on average, and what is lost where it stops; in fine efforts."""

    effort: int
    lost: int


@dataclass(slots=True)
class Ahead:
    """Looks at no more than `most` states, and in each at what `tests` names as the most telling ones."""

    tests: Callable[[State], Sequence[Prospect]]
    stop: Stop
    most: int
    _found: dict[State, Best] = field(default_factory=dict)

    def best(self, state: State, ends: Ends, masses: Masses) -> Axis | None:
        """The first test of the order found; None if none can be made or is needed, or it is best to stop.

        Raises `TooManyError` where it would have to look at more states than it may.
        """
        return self._search(state, ends, masses)[1]

    def going_on(self, state: State) -> Bill | None:
        """What the best order comes to that begins with a test, even if it is best to stop; None where no
        test can be made. Raises as `best` does.
        """
        rated = [(self._expected(test, NOTHING), n, test) for n, test in enumerate(self.tests(state))]
        return self._bill(min(rated)[2]) if rated else None

    def _search(self, state: State, ends: Ends, masses: Masses) -> Best:
        lost = self.stop(ends, masses)
        if lost == 0:
            return NOTHING
        found = self._found.get(state)
        if found is not None:
            return found
        if len(self._found) >= self.most:
            raise TooManyError
        # And so it stays where nothing can be asked.
        best = self._found[state] = NOTHING if lost is None else (lost, None)
        for prospect in self.tests(state):
            expected = self._expected(prospect, best)
            if best is NOTHING or expected < best[0]:
                best = self._found[state] = (expected, prospect.axis)
        return best

    def _expected(self, prospect: Prospect, best: Best) -> int:
        """What a test costs with all that comes after it; stops early once it is no better than `best`."""
        effort = prospect.effort * FINE
        sizes, total = prospect.sizes
        for size, outlook in zip(sizes, prospect.outlooks, strict=True):
            if best is not NOTHING and effort >= best[0]:
                break
            effort += self._search(outlook.state, outlook.ends, outlook.masses)[0] * size // total
        return effort

    def _bill(self, prospect: Prospect) -> Bill:
        """The same in two, of a test that was looked at to the end."""
        effort, lost = prospect.effort * FINE, 0
        sizes, total = prospect.sizes
        for size, outlook in zip(sizes, prospect.outlooks, strict=True):
            cost, axis = self._search(outlook.state, outlook.ends, outlook.masses)
            after = Bill(0, cost)
            if axis is not None:
                after = self._bill(next(test for test in self.tests(outlook.state) if test.axis is axis))
            effort, lost = effort + after.effort * size // total, lost + after.lost * size // total
        return Bill(effort, lost)


class TooManyError(Exception):
    """There are more states than may be looked at."""
