"""The cases of a backtest: each price of any lot, and what it would have been predicted to be."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import groupby
from operator import attrgetter

from gradewright.core.backtest import Case
from gradewright.core.consensus import Quote
from gradewright.core.rates import Rate
from gradewright.core.rulebook import Rulebook
from gradewright.core.sightings import Sighting
from gradewright.core.timeline import days_before
from gradewright.prices.backtest_known import Known
from gradewright.prices.counting import NO_LOT, Sightings
from gradewright.prices.judged import Days, Judged, Weighed

DAY = timedelta(days=1)
_day = attrgetter("observed_on")


@dataclass(frozen=True, slots=True)
class History:
    """What there is to make cases from. `seen`: every price of any lot, by grade, what is gone too.

    `evenings`: what was known at the end of the days before those on which prices were seen; `at_last`: what
    is known of all of them by each version, which tells what was truly paid.
    """

    seen: Sightings
    days: Days
    evenings: Mapping[date, Known]
    at_last: Mapping[str, Known]


@dataclass(frozen=True, slots=True)
class _Predicted:
    """What a grade would have been predicted to be: the price last posted, by yard, and both quotes."""

    last: Mapping[str, Rate] = field(default_factory=dict)
    consensus: Quote | None = None
    benchmarked: Quote | None = None


def all_cases(history: History, first: date, last: date) -> tuple[list[Case], int]:
    """The cases of every grade, in the order of their days; and how many prices wait on their own day."""
    found: list[Case] = []
    waiting = 0
    for grade, seen in history.seen.items():
        cases, wait = _Grade(history, grade, seen).cases(first, last)
        found += cases
        waiting += wait
    return sorted(found, key=lambda case: (case.on, case.grade, case.yard)), waiting


class _Grade:
    """All that was seen of one grade."""

    def __init__(self, history: History, grade: str, seen: Sequence[Sighting]) -> None:
        self._history = history
        self._grade = grade
        self._seen = sorted(seen, key=lambda s: (s.observed_on, s.revision))

    def cases(self, first: date, last: date) -> tuple[list[Case], int]:
        """The prices of the span, each with what would have been predicted; and how many wait."""
        found, waiting = [], 0
        for day, on_day in groupby(self._between(first, last), key=_day):
            rulebook = self._history.days[day]
            if rulebook is None:
                continue
            at_last = self._history.at_last[rulebook.version]
            known = self._known(day, rulebook, at_last)
            waits = self._judged(known, at_last, at_last.aged, rulebook).held(day, rulebook)
            predicted = self._predicted(day - DAY)
            for s in on_day:
                if s.entry in waits:
                    waiting += 1
                elif s.entry not in at_last.spoken.gone:
                    quotes = predicted.consensus, predicted.benchmarked
                    found.append(Case(self._grade, s.yard, day, s.rate, predicted.last.get(s.yard), *quotes))
        return found, waiting

    def _predicted(self, eve: date) -> _Predicted:
        """From what was known at the end of a day; what waits then is no price last posted either."""
        rulebook, then = self._history.days[eve], self._history.evenings.get(eve)
        if rulebook is None or then is None:
            return _Predicted()
        known = self._known(eve, rulebook, then)
        aged = self._judged(known, then, then.aged, rulebook)
        benchmarked = aged.point(eve, rulebook).quote
        consensus = benchmarked
        if then.plain is not then.aged:
            consensus = self._judged(known, then, then.plain, rulebook).point(eve, rulebook).quote
        waits = aged.held(eve, rulebook)
        last = {s.yard: s.rate for s in known if s.entry not in waits}
        return _Predicted(last, consensus, benchmarked)

    def _known(self, day: date, rulebook: Rulebook, then: Known) -> Sequence[Sighting]:
        """What can count on a day of what was known, ascending."""
        window = self._between(days_before(day, rulebook.pricing.stale_after), day)
        return [s for s in window if s.revision <= then.revision and s.entry not in then.spoken.gone]

    def _judged(self, known: Sequence[Sighting], then: Known, weighed: Weighed, rulebook: Rulebook) -> Judged:
        by, seen_on = {rulebook.version: weighed}, [s.observed_on for s in known]
        return Judged(known, seen_on, by, then.spoken, self._grade, None, NO_LOT, ())

    def _between(self, first: date, last: date) -> Sequence[Sighting]:
        return self._seen[bisect_left(self._seen, first, key=_day) : bisect_right(self._seen, last, key=_day)]
