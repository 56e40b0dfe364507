"""Operations on price lists and series."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Annotated

from litestar import Controller, get
from litestar.di import NamedDependency
from litestar.params import Parameter

from gradewright.clock import Clock
from gradewright.core.errors import Fault, GradewrightError, Refused
from gradewright.core.units import parse_mass
from gradewright.prices.schemas import PriceListOut, PriceQuery, SeriesOut, SeriesQuery, price_list
from gradewright.prices.service import PriceService, days_between
from gradewright.rulebooks.service import RulebookService, resolve_grade
from gradewright.web.requests import query


class PriceController(Controller):
    """What local yards pay."""

    path = "/v1/prices"
    tags = ["prices"]  # noqa: RUF012 - read by the framework

    @get(
        operation_id="list_prices",
        summary="The price list of a region or yard",
        dependencies=query(PriceQuery),
    )
    async def listed(
        self,
        prices: NamedDependency[PriceService],
        rulebooks: NamedDependency[RulebookService],
        clock: NamedDependency[Clock],
        asked: NamedDependency[PriceQuery],
    ) -> PriceListOut:
        """Low, likely and high of every grade on a day, as known at a revision, and what each rests on."""
        on = asked.on or clock().date()
        known_at = await prices.known(asked.known_at)
        rulebook = (await rulebooks.in_force(on, known_at=known_at)).rulebook
        place = await prices.place(asked.region, asked.yard)
        found, revision = await prices.list_for(place, rulebook, on, known_at)
        grades = list(rulebook.grades)
        if asked.grade is not None:
            grades = [resolve_grade(rulebook, asked.grade, ("grade",))]
        return price_list(found, place.region, place.yard, revision, grades, _lot(asked.weight))

    @get(
        "/{region:str}/{grade:str}/series",
        operation_id="get_series",
        summary="The likely price of a grade over time",
        dependencies=query(SeriesQuery),
    )
    async def series(
        self,
        prices: NamedDependency[PriceService],
        rulebooks: NamedDependency[RulebookService],
        clock: NamedDependency[Clock],
        asked: NamedDependency[SeriesQuery],
        region: Annotated[str, Parameter(description="The code of a region, such as XO-KEL.")],
        grade: Annotated[str, Parameter(description="The slug, name or alias of a grade.")],
    ) -> SeriesOut:
        """A point for each day, week or month of a span, from the region's own yards."""
        until = asked.until or clock().date()
        since = asked.since or _year_before(until)
        days = days_between(since, until, asked.step)
        known_at = await prices.known(asked.known_at)
        rulebook = (await rulebooks.in_force(until, known_at=known_at, at=("to",))).rulebook
        slug = resolve_grade(rulebook, grade, ("grade",))
        found = await prices.series(region, slug, rulebook, days, known_at)
        return SeriesOut.of(found, rulebook.version)


def _lot(weight: str | None) -> Decimal:
    """The weight of a lot in grams; none was asked for: the price for any lot."""
    if weight is None:
        return Decimal(0)
    try:
        return parse_mass(weight).grams
    except GradewrightError as error:
        suggestions = error.faults[0].suggestions if error.faults else ()
        raise Refused(error.detail, faults=(Fault(error.detail, ("weight",), suggestions),)) from error


def _year_before(day: date) -> date:
    return date(day.year - 1, day.month, min(day.day, 28)) if day.year > 1 else day
