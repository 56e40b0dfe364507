"""Backtest: a region's prices of a span, each predicted from what was known the day before it was seen.

What was known is told in `backtest_known`. What was withdrawn or rejected by the revision that is asked for,
and what waits on its own day, was not truly paid and is not tested.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import TypeVar

from gradewright.benchmarks.service import BenchmarkService
from gradewright.core.backtest import Case, Figures, comparable, measure
from gradewright.core.errors import Fault, Refused
from gradewright.core.rulebook import Rulebook
from gradewright.core.timeline import days_before
from gradewright.db.knowing import KnownAt, revision_of
from gradewright.db.session import Database
from gradewright.prices import backtest_repository as repository
from gradewright.prices.backtest_cases import DAY, History, all_cases
from gradewright.prices.backtest_known import KnownWhen, Reader, as_seen
from gradewright.prices.backtest_repository import Amount, What
from gradewright.prices.counting import sightings
from gradewright.prices.judged import Days, reach, versions
from gradewright.rulebooks.service import RulebookService
from gradewright.yards.service import YardService

MOST_CASES = 10_000
MOST_READ = 5_000_000
"""How many prices are gone through: those that can count on each day from which others are predicted."""
Key = TypeVar("Key")


@dataclass(frozen=True, slots=True)
class Asked:
    """Which prices are hidden and predicted (`grade` None: of all), and from what."""

    region: str
    first: date
    last: date
    grade: str | None = None
    known_when: KnownWhen = "recorded"


@dataclass(frozen=True, slots=True)
class Backtest:
    """What came out, for all cases and by how many yards the prediction rests on, and by grade.

    `waiting`: prices that wait on their own day; `unknown`: those of which nothing was known the day before,
    by one method or another.
    """

    asked: Asked
    revision: int
    rulebooks: tuple[str, ...]
    waiting: int
    unknown: int
    overall: Figures | None
    by_yards: Mapping[int, Figures]
    by_grade: Mapping[str, Figures]


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

    async def of(self, asked: Asked, known_at: KnownAt = None) -> Backtest:
        """What comes out for the prices seen from one day to another, in the region's own yards.

        Raises `UnknownRegion`, and `Refused` for more prices than can be predicted at once, or gone through.
        """
        revision = await revision_of(self._database, known_at)
        span = [asked.first + DAY * n for n in range(-1, (asked.last - asked.first).days + 1)]
        over = await self._rulebooks.over(span, known_at=revision)
        days: Days = {day: None if found is None else found.rulebook for day, found in over.items()}
        history = await self._history(asked, days, revision)
        cases, waiting = await asyncio.to_thread(partial(all_cases, history, asked.first, asked.last))
        tested = comparable(cases)
        return Backtest(
            asked=asked,
            revision=revision,
            rulebooks=tuple(rulebook.version for rulebook in versions(days)),
            waiting=waiting,
            unknown=len(cases) - len(tested),
            overall=measure(tested),
            by_yards=_by(tested, _yards),
            by_grade=_by(tested, lambda case: case.grade),
        )

    async def _history(self, asked: Asked, days: Days, revision: int) -> History:
        atlas, benchmarks = await self._yards.atlas(), await self._benchmarks.all()
        currency = atlas.region(asked.region).currency
        yards = [found.slug for found in atlas.under(asked.region, revision)]
        since, until = reach(days)
        seen = What(yards, asked.grade, since, until, revision)
        async with self._database.read() as session:
            amounts = await repository.amounts(session, seen)
            tested = sorted(day for day, amount in amounts.items() if amount.predicted and day >= asked.first)
            eves = [day - DAY for day in tested]
            _check_size(asked, days, amounts, eves)
            rows = await repository.prices_of_any_lot(session, seen)
            reader = Reader(session, yards, currency, benchmarks, rows)
            at_last = await reader.at_last(since, until, days, revision)
            if asked.known_when == "recorded":
                evenings = await reader.evenings(eves, days, revision)
            else:
                evenings = as_seen(eves, days, at_last)
        return History(sightings(rows, currency), days, evenings, at_last)


def _check_size(asked: Asked, days: Days, amounts: Mapping[date, Amount], eves: Sequence[date]) -> None:
    """Raises `Refused` for too much. One grade on one day is always predicted: whoever narrows gets there."""
    if asked.first == asked.last and asked.grade is not None:
        return
    predicted = sum(amount.predicted for day, amount in amounts.items() if day >= asked.first)
    if predicted > MOST_CASES:
        raise _too_much(asked, f"{predicted} prices were seen", f"{MOST_CASES} are predicted")
    read = sum(_gone_through(asked, eve, days[eve], amounts) for eve in eves)
    if read > MOST_READ:
        there = f"{read} prices that count, day by day, are to be gone through for those seen"
        raise _too_much(asked, there, f"{MOST_READ} are")


def _gone_through(asked: Asked, eve: date, rulebook: Rulebook | None, amounts: Mapping[date, Amount]) -> int:
    """How many prices can count at the end of a day: to predict from, and to weigh their authors by."""
    if rulebook is None:
        return 0
    since, weighs = days_before(eve, rulebook.pricing.stale_after), asked.known_when == "recorded"
    can = [amount for day, amount in amounts.items() if since <= day <= eve]
    return sum(amount.predicted + (amount.in_all if weighs else 0) for amount in can)


def _too_much(asked: Asked, there: str, most: str) -> Refused:
    shorter = [] if asked.first == asked.last else ["a shorter span"]
    narrower = " or ".join([*shorter, *([] if asked.grade is not None else ["one grade"])])
    detail = (
        f"{there} there between {asked.first} and {asked.last}, and at most {most} at once: take {narrower}."
    )
    return Refused(detail, faults=(Fault(detail, ("from",) if shorter else ("grade",)),))


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
