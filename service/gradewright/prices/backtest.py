"""Backtest: a region's prices of a span, each predicted from what was known the day before it was seen.

Known is what had been seen by then, whenever it was recorded: else a history that was uploaded at once could
not be tested. Authors weigh what they weigh at the revision; what was withdrawn or rejected by then, and what
waits on its own day, is neither tested nor known.
"""

from __future__ import annotations

import asyncio
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import partial
from typing import TypeVar

from gradewright.benchmarks.service import BenchmarkService, ages
from gradewright.core.aging import NOTHING_AGES
from gradewright.core.backtest import Case, Figures, comparable, measure
from gradewright.core.consensus import Entry, Quote, Sighting
from gradewright.core.errors import Fault, Refused
from gradewright.core.rates import Rate
from gradewright.core.timeline import days_before
from gradewright.db.knowing import KnownAt, revision_of
from gradewright.db.session import Database
from gradewright.prices import repository, said
from gradewright.prices.counting import NO_LOT, Asked, Sightings, sightings, standing_of
from gradewright.prices.judged import Days, Judged, Weighed, reach, versions
from gradewright.prices.said import Spoken
from gradewright.rulebooks.service import RulebookService
from gradewright.yards.service import YardService

MOST_CASES = 10_000
DAY = timedelta(days=1)
Key = TypeVar("Key")


@dataclass(frozen=True, slots=True)
class Backtest:
    """What came out, for all cases and by how many yards the prediction rests on, and by grade.

    `waiting`: prices that wait on their own day; `unknown`: those of which nothing was known the day before,
    by one method or another.
    """

    region: str
    first: date
    last: date
    revision: int
    rulebooks: tuple[str, ...]
    waiting: int
    unknown: int
    overall: Figures | None
    by_yards: Mapping[int, Figures]
    by_grade: Mapping[str, Figures]


class _Grade:
    """All of one grade in the region, judged with its benchmark and without."""

    def __init__(self, plain: Judged, aged: Judged, days: Days) -> None:
        self._plain = plain
        self._aged = aged
        self._days = days
        self._known: dict[date, tuple[Quote | None, Quote | None]] = {}
        self._held: dict[date, Collection[Entry]] = {}

    def cases(self, first: date, last: date) -> tuple[list[Case], int]:
        """The prices of the span, each with what would have been predicted; and how many wait."""
        found, waiting = [], 0
        begin, end = bisect_left(self._plain.seen_on, first), bisect_right(self._plain.seen_on, last)
        for s in self._plain.seen[begin:end]:
            if s.from_grams:
                continue
            if s.entry in self._waiting(s.observed_on):
                waiting += 1
                continue
            consensus, benchmarked = self._quotes(s.observed_on - DAY)
            known = (self._last(s), consensus, benchmarked)
            found.append(Case(self._plain.grade, s.yard, s.observed_on, s.rate, *known))
        return found, waiting

    def _quotes(self, eve: date) -> tuple[Quote | None, Quote | None]:
        if eve not in self._known:
            rulebook = self._days[eve]
            plain, aged = (judged.point(eve, rulebook).quote for judged in (self._plain, self._aged))
            self._known[eve] = (plain, aged)
        return self._known[eve]

    def _waiting(self, day: date) -> Collection[Entry]:
        if day not in self._held:
            self._held[day] = self._aged.held(day, self._days[day])
        return self._held[day]

    def _last(self, s: Sighting) -> Rate | None:
        """What the yard was seen to pay last before, if that still counts on the eve; not what waits then."""
        eve = s.observed_on - DAY
        rulebook = self._days[eve]
        if rulebook is None:
            return None
        since = days_before(eve, rulebook.pricing.stale_after)
        begin, end = (bisect_left(self._plain.seen_on, day) for day in (since, s.observed_on))
        for other in reversed(self._plain.seen[begin:end]):
            if other.yard == s.yard and not other.from_grams and other.entry not in self._waiting(eve):
                return other.rate
        return None


class BacktestService:
    """Reads the ledger of a region over a span."""

    def __init__(
        self,
        database: Database,
        yards: YardService,
        rulebooks: RulebookService,
        benchmarks: BenchmarkService,
    ) -> None:
        self._database = database
        self._yards = yards
        self._rulebooks = rulebooks
        self._benchmarks = benchmarks

    async def known(self, known_at: KnownAt) -> int | None:
        """The revision that is meant by an old one or an instant; None for the newest."""
        return None if known_at is None else await revision_of(self._database, known_at)

    async def of(
        self, region: str, first: date, last: date, grade: str | None = None, known_at: KnownAt = None
    ) -> Backtest:
        """What comes out for the prices seen from one day to another, in the region's own yards.

        Raises `UnknownRegion`, and `Refused` for more prices than can be predicted at once.
        """
        revision = await revision_of(self._database, known_at)
        atlas, benchmarks = await self._yards.atlas(), await self._benchmarks.all()
        currency = atlas.region(region).currency
        yards = [found.slug for found in atlas.under(region, revision)]
        span = [first - DAY + timedelta(days=n) for n in range((last - first).days + 2)]
        over = await self._rulebooks.over(span, known_at=revision)
        days: Days = {day: None if found is None else found.rulebook for day, found in over.items()}
        since, until = reach(days)
        plain: dict[str, Weighed] = {}
        aged: dict[str, Weighed] = {}
        async with self._database.read() as session:
            _check_size(
                await repository.count_prices(
                    session, yards, grade, since=first, until=last, revision=revision
                ),
                first,
                last,
            )
            rows = await repository.prices_of(
                session, yards, grade, since=since, until=until, revision=revision
            )
            spoken = await said.spoken(session, yards, since=since, until=until, revision=revision)
            for rulebook in versions(days):
                for ages_by, found in ((NOTHING_AGES, plain), (ages(rulebook, benchmarks, revision), aged)):
                    asked = Asked(yards, currency, until, revision, rulebook.pricing, ages_by)
                    found[rulebook.version] = Weighed(ages_by, await standing_of(session, asked))
        seen = sightings(rows, currency)
        work = partial(_all_cases, seen, (plain, aged), spoken, days, (first, last))
        cases, waiting = await asyncio.to_thread(work)
        tested = comparable(cases)
        return Backtest(
            region=region,
            first=first,
            last=last,
            revision=revision,
            rulebooks=tuple(rulebook.version for rulebook in versions(days)),
            waiting=waiting,
            unknown=len(cases) - len(tested),
            overall=measure(tested),
            by_yards=_by(tested, _yards),
            by_grade=_by(tested, lambda case: case.grade),
        )


def _all_cases(
    seen: Sightings,
    by: Sequence[Mapping[str, Weighed]],
    spoken: Spoken,
    days: Days,
    span: tuple[date, date],
) -> tuple[list[Case], int]:
    """The cases of every grade, in the order of their days; and how many prices wait."""
    found: list[Case] = []
    waiting = 0
    for grade, said_of in seen.items():
        in_order = sorted(said_of, key=lambda s: (s.observed_on, s.revision))
        seen_on = [s.observed_on for s in in_order]
        plain, aged = (Judged(in_order, seen_on, weighed, spoken, grade, None, NO_LOT, ()) for weighed in by)
        cases, wait = _Grade(plain, aged, days).cases(*span)
        found += cases
        waiting += wait
    return sorted(found, key=lambda case: (case.on, case.grade, case.yard)), waiting


def _check_size(count: int, first: date, last: date) -> None:
    if count > MOST_CASES:
        detail = (
            f"{count} prices were seen there between {first} and {last}, and at most {MOST_CASES} are "
            "predicted at once: take a shorter span, or one grade."
        )
        raise Refused(detail, faults=(Fault(detail, ("from",)),))


def _by(cases: Sequence[Case], key: Callable[[Case], Key]) -> dict[Key, Figures]:
    """What comes out for each group, the largest first."""
    groups: dict[Key, list[Case]] = {}
    for case in cases:
        groups.setdefault(key(case), []).append(case)
    measured = ((name, measure(group)) for name, group in groups.items())
    found = [(name, figures) for name, figures in measured if figures is not None]
    return dict(sorted(found, key=lambda pair: -pair[1].cases))


def _yards(case: Case) -> int:
    return case.benchmarked.yards if case.benchmarked is not None else 0
