"""Operations on the prices of a grade over time, as JSON, CSV or a chart."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Any

from litestar import Request, Response, get
from litestar.datastructures import ResponseHeader
from litestar.di import NamedDependency
from litestar.params import Parameter
from litestar.response import Stream

from gradewright.clock import Clock
from gradewright.prices.board import Place
from gradewright.prices.chart_words import Charted
from gradewright.prices.charts import Charts
from gradewright.prices.judged import Days
from gradewright.prices.schemas import lot_of
from gradewright.prices.series import SeriesService
from gradewright.prices.series_days import days_between
from gradewright.prices.series_schemas import COLUMNS, SeriesOut, SeriesQuery, csv_of
from gradewright.rulebooks.service import RulebookService, resolve_grade
from gradewright.web.formats import chosen
from gradewright.web.requests import query
from gradewright.web.responses import json_answer
from gradewright.web.routing import is_head

JSON, CSV, SVG = "application/json", "text/csv", "image/svg+xml"
FORMATS = {"json": JSON, "csv": CSV, "svg": SVG}
MEDIA_SCHEMAS: Mapping[str, Mapping[str, str]] = {
    CSV: {
        "type": "string",
        "description": f"A line for each point (RFC 4180) with the columns {', '.join(COLUMNS)}: as in JSON, "
        "blank where it has null.",
    },
    SVG: {
        "type": "string",
        "description": "A chart, 360 units wide: the likely price as a line in the band from low to high, "
        "gaps where there is none, and the number of yards below.",
    },
}
OPTIONS: dict[str, Any] = {"media": (CSV, SVG), "media_schemas": MEDIA_SCHEMAS}
HEADERS = [
    ResponseHeader(name="Known-At", documentation_only=True, description="The revision that it is known at.")
]
SVG_HEADERS = {"Content-Security-Policy": "default-src 'none'; style-src 'unsafe-inline'"}
GradePath = Annotated[str, Parameter(description="The slug, name or alias of a grade.")]
AnyRequest = Request[Any, Any, Any]


@get(
    "/v1/prices/{region:str}/{grade:str}/series",
    operation_id="get_series",
    summary="The price of a grade in a region over time",
    tags=["prices"],
    dependencies=query(SeriesQuery),
    opt=OPTIONS,
    response_headers=HEADERS,
)
async def region_series(
    request: AnyRequest,
    series: NamedDependency[SeriesService],
    charts: NamedDependency[Charts],
    rulebooks: NamedDependency[RulebookService],
    clock: NamedDependency[Clock],
    asked: NamedDependency[SeriesQuery],
    region: Annotated[str, Parameter(description="The code of a region, such as XO-KEL.")],
    grade: GradePath,
) -> Response[SeriesOut]:
    """A point for each day, week or month of a span, from the region's own yards and by the rulebook of its
    day, as that day's price list has it: as JSON, as CSV, or as a chart for people, by `Accept` or `format`.
    """
    work = _Work(request, series, charts, rulebooks, clock().date(), asked)
    return await work.answer(await series.region(region), grade)


@get(
    "/v1/yards/{yard:str}/prices/{grade:str}/series",
    operation_id="get_yard_series",
    summary="The price of a grade at a yard over time",
    tags=["prices"],
    dependencies=query(SeriesQuery),
    opt=OPTIONS,
    response_headers=HEADERS,
)
async def yard_series(
    request: AnyRequest,
    series: NamedDependency[SeriesService],
    charts: NamedDependency[Charts],
    rulebooks: NamedDependency[RulebookService],
    clock: NamedDependency[Clock],
    asked: NamedDependency[SeriesQuery],
    yard: Annotated[str, Parameter(description="The slug of a yard, such as low-quay.")],
    grade: GradePath,
) -> Response[SeriesOut]:
    """The same of one yard alone, in its own currency and unit."""
    work = _Work(request, series, charts, rulebooks, clock().date(), asked)
    return await work.answer(await series.yard(yard), grade)


@dataclass(frozen=True, slots=True)
class _Work:
    """One request: what was asked, and who can answer it."""

    request: AnyRequest
    series: SeriesService
    charts: Charts
    rulebooks: RulebookService
    today: date
    asked: SeriesQuery

    async def answer(self, place: Place, grade: str) -> Response[Any]:
        """The series in the form that was asked for."""
        asked, media = self.asked, chosen(self.request, self.asked.format, FORMATS)
        until = asked.until or self.today
        days = days_between(asked.since or _year_before(until), until, asked.step)
        known_at = await self.series.known(asked.known_at)
        rulebook = (await self.rulebooks.in_force(until, known_at=known_at, at=("to",))).rulebook
        slug = resolve_grade(rulebook, grade, ("grade",))
        over = await self.rulebooks.over(days, known_at=known_at)
        dated = {day: None if version is None else version.rulebook for day, version in over.items()}
        found = await self.series.of(place, slug, dated, known_at, lot_of(asked.weight))
        told = SeriesOut.of(found, rulebook, asked.weight)
        headers = {"Known-At": str(told.known_at), "Vary": "Accept"}
        if media == JSON:
            return json_answer(told, headers=headers)
        use, ending = ("attachment", "csv") if media == CSV else ("inline", "svg")
        headers["Content-Disposition"] = f'{use}; filename="{told.grade}-{told.yard or told.region}.{ending}"'
        if media == CSV:
            return Response(csv_of(told), media_type=media, headers=headers)
        headers |= SVG_HEADERS
        if is_head(self.request.scope):  # nobody sees it: it is not drawn, and its length not told
            return Stream(iter(()), media_type=media, headers=headers)
        drawn = await self.charts.svg(Charted(told, found.called, _thin_below(dated)))
        return Response(drawn, media_type=media, headers=headers)


def _thin_below(days: Days) -> int | None:
    """How many yards are not few, where all versions of the days say the same."""
    said = {rulebook.pricing.thin_below for rulebook in days.values() if rulebook is not None}
    return said.pop() if len(said) == 1 else None


def _year_before(day: date) -> date:
    return date(day.year - 1, day.month, min(day.day, 28)) if day.year > 1 else day
