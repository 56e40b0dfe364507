"""Benchmarks, what a file of values changes, and how well prices would have been predicted."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from pydantic import Field

from ._common import Result, Whole
from ._files import File


class BenchmarkValue(Result):
    """The value of a benchmark on a day."""

    date: date
    value: Decimal


class Benchmark(Whole):
    """A benchmark: what a market quotes, in `currency` per `unit`; an index has neither.

    `days`: how many have a value, `first` and `last` of them.
    """

    slug: str
    name: str
    currency: str | None = None
    unit: str | None = None
    source: str
    revision: int
    days: int
    first: BenchmarkValue | None = None
    last: BenchmarkValue | None = None


class BenchmarkValues(Benchmark):
    """A benchmark with its values of a span, ascending, as known at a revision."""

    known_at: int
    values: tuple[BenchmarkValue, ...] = ()


class BenchmarkChange(Result):
    """A line of a file of values and what it changes: a `new` day, or another value than `before`."""

    line: int
    date: date
    value: Decimal
    change: str
    before: Decimal | None = None


class BenchmarkImport(Whole):
    """What a file of values changes. `revision` is None where nothing was stored. `made`: the benchmark is
    new, and was made with them (in a dry run: would be).
    """

    benchmark: str
    made: bool = False
    dry_run: bool
    revision: int | None = None
    new: int
    changed: int
    same: int
    changes: tuple[BenchmarkChange, ...] = ()


@dataclass(frozen=True, slots=True)
class BenchmarkFile(File):
    """A benchmark's values as a file, and the revision that it is known at."""


class Predicted(Result):
    """What one method would have been off by: `median_error` in percent of the price paid; `within`: how many
    percent of those lay between low and high, and `within_from` and `within_to` between what that may truly
    lie (95 %, if each price is taken for a case of its own); None for a method that gives a single price.
    """

    method: str
    median_error: Decimal
    within: Decimal | None = None
    within_from: Decimal | None = None
    within_to: Decimal | None = None


class Predictions(Result):
    """All methods on the same prices: of all, of one grade, or of those that rest on so many yards."""

    cases: int
    methods: tuple[Predicted, ...] = ()
    grade: str | None = None
    yards: int | None = None


class Backtest(Whole):
    """How well the prices seen in a region would have been predicted from what was known the day before.

    `overall` is None where nothing could be tested; `unknown`: prices of which too little was known before,
    `waiting`: those that wait on their own day. `known_when`: whether prices count as known once they were
    recorded, or from the day on which they were seen.
    """

    region: str
    from_: date = Field(alias="from")
    to: date
    known_at: int
    known_when: str = "recorded"
    rulebooks: tuple[str, ...] = ()
    waiting: int = 0
    unknown: int = 0
    overall: Predictions | None = None
    by_yards: tuple[Predictions, ...] = ()
    by_grade: tuple[Predictions, ...] = ()
