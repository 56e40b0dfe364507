"""The wire forms of a backtest."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Literal

from pydantic import Field

from gradewright.core.backtest import Figures, Measured
from gradewright.core.decimals import EXACT, plain
from gradewright.prices.backtest import Backtest
from gradewright.prices.backtest_known import KnownWhen
from gradewright.regions.schemas import RegionCode
from gradewright.web.fields import Day, In, KnownAt, Name, Out, Slug


class BacktestQuery(In):
    """Which prices are hidden and predicted."""

    since: Annotated[
        Day | None, Field(alias="from", description="Seen from this day on; default 28 days before the last.")
    ] = None
    until: Annotated[Day | None, Field(alias="to", description="Up to this day; default today.")] = None
    grade: Annotated[Name | None, Field(description="Only this grade.")] = None
    known_at: Annotated[KnownAt | None, Field(description="As known then; default now.")] = None
    known_when: Annotated[
        KnownWhen,
        Field(
            description="When a price counts as known: once it was recorded, or, for a history that was "
            "uploaded at once, from the day on which it was seen."
        ),
    ] = "recorded"


class MeasuredOut(Out):
    """What one method would have been off by: the median of |predicted - paid| / paid, in percent.

    `within`: how many percent of the prices paid lay between low and high. `within_from` and `within_to`:
    between what that share may truly lie (Wilson 1927, 95 %), if each price is taken for a case of its own.
    All three are null for a method that gives a single price.
    """

    method: Literal["last-posted", "consensus", "consensus-with-benchmark"]
    median_error: str
    within: str | None
    within_from: str | None
    within_to: str | None

    @classmethod
    def of(cls, measured: Measured) -> MeasuredOut:
        """The wire form."""
        return cls(
            method=measured.method,  # type: ignore[arg-type]
            median_error=_percent(measured.error),
            within=None if measured.within is None else _percent(measured.within),
            within_from=None if measured.sure is None else _percent(measured.sure[0]),
            within_to=None if measured.sure is None else _percent(measured.sure[1]),
        )


class FiguresOut(Out):
    """All methods on the same prices."""

    cases: int
    methods: list[MeasuredOut]


class YardFiguresOut(FiguresOut):
    """Those whose prediction rests on so many yards."""

    yards: int


class GradeFiguresOut(FiguresOut):
    """Those of one grade."""

    grade: Slug


class BacktestOut(Out):
    """How well prices seen in a region would have been predicted from what was known the day before.

    `overall` is null where nothing could be tested. `unknown`: prices that could not, for want of something
    known before; `waiting`: prices that wait on their own day, which are not tested.
    """

    region: RegionCode
    from_: Annotated[Day, Field(alias="from")]
    to: Day
    known_at: int
    known_when: KnownWhen
    rulebooks: list[str]
    waiting: int
    unknown: int
    overall: FiguresOut | None
    by_yards: list[YardFiguresOut]
    by_grade: list[GradeFiguresOut]

    @classmethod
    def of(cls, found: Backtest) -> BacktestOut:
        """The wire form."""
        return cls.model_validate(
            {
                "region": found.asked.region,
                "from": found.asked.first,
                "to": found.asked.last,
                "known_at": found.revision,
                "known_when": found.asked.known_when,
                "rulebooks": list(found.rulebooks),
                "waiting": found.waiting,
                "unknown": found.unknown,
                "overall": None if found.overall is None else _told(found.overall),
                "by_yards": [{"yards": yards, **_told(figures)} for yards, figures in found.by_yards.items()],
                "by_grade": [{"grade": grade, **_told(figures)} for grade, figures in found.by_grade.items()],
            }
        )


def _told(figures: Figures) -> dict[str, object]:
    return {"cases": figures.cases, "methods": [MeasuredOut.of(each) for each in figures.methods]}


def _percent(share: Decimal) -> str:
    return plain(EXACT.scaleb(share, 2))
