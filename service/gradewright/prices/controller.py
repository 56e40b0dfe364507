"""Operations on price lists."""

from __future__ import annotations

from typing import Annotated

from litestar import Controller, get
from litestar.di import NamedDependency
from litestar.params import Parameter

from gradewright.clock import Clock
from gradewright.core.errors import Fault, Refused
from gradewright.core.timeline import days_before
from gradewright.prices.backtest import Asked, BacktestService
from gradewright.prices.backtest_schemas import BacktestOut, BacktestQuery
from gradewright.prices.schemas import PriceListOut, PriceQuery, lot_of, price_list
from gradewright.prices.service import PriceService
from gradewright.rulebooks.service import RulebookService, resolve_grade
from gradewright.web.requests import query

USUAL_SPAN = 28
MOST_DAYS = 400


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
        return price_list(found, place.region, place.yard, revision, grades, lot_of(asked.weight))

    @get(
        "/{region:str}/backtest",
        operation_id="backtest_prices",
        summary="How well prices would have been predicted",
        dependencies=query(BacktestQuery),
    )
    async def backtest(
        self,
        region: Annotated[str, Parameter(description="The code of a region, such as XO-KEL.")],
        backtests: NamedDependency[BacktestService],
        rulebooks: NamedDependency[RulebookService],
        clock: NamedDependency[Clock],
        asked: NamedDependency[BacktestQuery],
    ) -> BacktestOut:
        """Hides each price seen in the region's yards in a span, and predicts it from what was known at the
        end of the day before (UTC): by the price last posted at that yard, by the region's likely price, and
        by that with benchmarks. Told are the median error, and how often the price that was paid lay between
        low and high: of quartiles one expects about half. All methods are measured on the same prices.

        Known is what had been recorded by then: prices, later words, benchmarks, and what members' words
        weighed. With `known_when=seen` prices count as known from the day on which they were seen, and the
        rest is as of `known_at`. At most 10,000 prices without a from-weight are predicted at once, and
        5,000,000 that count day by day gone through; one grade on one day always is.
        """
        until = asked.until or clock().date()
        since = asked.since or days_before(until, USUAL_SPAN)
        if since > until:
            detail = f"The backtest would begin on {since} and end before, on {until}: exchange the two."
            raise Refused(detail, faults=(Fault(detail, ("from",)),))
        if (until - since).days > MOST_DAYS:
            detail = f"The backtest would take more than {MOST_DAYS} days: take a later beginning."
            raise Refused(detail, faults=(Fault(detail, ("from",)),))
        known_at = await backtests.known(asked.known_at)
        rulebook = (await rulebooks.in_force(until, known_at=known_at, at=("to",))).rulebook
        grade = None if asked.grade is None else resolve_grade(rulebook, asked.grade, ("grade",))
        what = Asked(region, since, until, grade, asked.known_when)
        return BacktestOut.of(await backtests.of(what, known_at))
