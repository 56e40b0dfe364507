"""The wire forms of series: JSON, and the same as CSV."""

from __future__ import annotations

import csv
import io
from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from gradewright.core.basis import shown_rate, without_spare
from gradewright.core.consensus import Quote
from gradewright.core.rulebook import Rulebook
from gradewright.core.units import MassUnit
from gradewright.prices.judged import Point
from gradewright.prices.schemas import Weight
from gradewright.prices.series import Series
from gradewright.regions.schemas import RegionCode
from gradewright.web.fields import Day, In, KnownAt, Out, Slug

COLUMNS = (
    "region", "yard", "grade", "on", "low", "likely", "high", "currency", "per", "yards", "entries",
    "newest", "newest_age_days", "oldest", "oldest_age_days", "thin", "rulebook",
)  # fmt: skip


class SeriesQuery(In):
    """Which span of a series, and in which form."""

    since: Annotated[Day | None, Field(alias="from", description="Default: a year before `to`.")] = None
    until: Annotated[Day | None, Field(alias="to", description="Default: today (UTC).")] = None
    step: Annotated[
        Literal["day", "week", "month"],
        Field(description="How far the points are apart, counted back from `to`; at most 400 of them."),
    ] = "week"
    known_at: Annotated[KnownAt | None, Field(description="As known then; default now.")] = None
    weight: Annotated[Weight | None, Field(description="Prices for a lot of this weight.")] = None
    format: Annotated[
        Literal["json", "csv", "svg"] | None,
        Field(description="The form of the answer, where Accept leaves a choice (as a browser's does)."),
    ] = None


class PointOut(Out):
    """One day; without a price where nothing counted on it.

    `yards` and `entries`: how many stand behind it; `newest` and `oldest`: when they were seen, and how many
    days that is before `on`; `thin`: fewer yards than it takes for quartiles; `rulebook`: the version in
    force on the day, null before the first.
    """

    on: Day
    low: str | None
    likely: str | None
    high: str | None
    yards: int
    entries: int
    newest: Day | None
    newest_age_days: int | None
    oldest: Day | None
    oldest_age_days: int | None
    thin: bool
    rulebook: str | None


class SeriesOut(Out):
    """The price of a grade over time, in a region (`yard` is null) or at a yard.

    `weight`: the lot that it is for, as it was asked for; null for any. `rulebook`: that of the last day, in
    which the grade was looked up.
    """

    region: RegionCode
    yard: str | None
    grade: Slug
    name: str
    weight: str | None
    currency: str
    per: str
    known_at: int
    rulebook: str
    points: list[PointOut]

    @classmethod
    def of(cls, series: Series, rulebook: Rulebook, weight: str | None) -> SeriesOut:
        """The wire form."""
        return cls(
            region=series.place.region,
            yard=series.place.yard,
            grade=series.grade,
            name=rulebook.grades[series.grade].name,
            weight=weight,
            currency=series.currency,
            per=series.unit.symbol,
            known_at=series.revision,
            rulebook=rulebook.version,
            points=[_point(point, series.unit) for point in series.points],
        )


def csv_of(series: SeriesOut) -> bytes:
    """One line for each point below a line that names the columns (RFC 4180); blank where there is none."""
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, COLUMNS, lineterminator="\r\n")
    writer.writeheader()
    same = {name: getattr(series, name) for name in ("region", "yard", "grade", "currency", "per")}
    for point in series.points:
        told = point.model_dump(mode="json")
        writer.writerow({**same, **told, "thin": "true" if point.thin else "false"})
    return out.getvalue().encode()


def _point(point: Point, unit: MassUnit) -> PointOut:
    if point.quote is None:
        return PointOut(
            on=point.on,
            low=None,
            likely=None,
            high=None,
            yards=0,
            entries=0,
            newest=None,
            newest_age_days=None,
            oldest=None,
            oldest_age_days=None,
            thin=False,
            rulebook=point.rulebook,
        )
    return _priced(point.on, point.quote, point.rulebook, unit)


def _priced(on: date, quote: Quote, rulebook: str | None, unit: MassUnit) -> PointOut:
    return PointOut(
        on=on,
        low=without_spare(shown_rate(quote.low, unit)),
        likely=without_spare(shown_rate(quote.likely, unit)),
        high=without_spare(shown_rate(quote.high, unit)),
        yards=quote.yards,
        entries=quote.entries,
        newest=quote.newest,
        newest_age_days=(on - quote.newest).days,
        oldest=quote.oldest,
        oldest_age_days=(on - quote.oldest).days,
        thin=quote.thin,
        rulebook=rulebook,
    )
