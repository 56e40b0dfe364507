"""Operations on price lists."""

from __future__ import annotations

from litestar import Controller, get
from litestar.di import NamedDependency

from gradewright.clock import Clock
from gradewright.prices.schemas import PriceListOut, PriceQuery, lot_of, price_list
from gradewright.prices.service import PriceService
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
        return price_list(found, place.region, place.yard, revision, grades, lot_of(asked.weight))
