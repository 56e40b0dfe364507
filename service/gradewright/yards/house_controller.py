"""Operations on house rules, of yards and of regions."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from contextlib import suppress
from typing import Annotated, Any

from litestar import Controller, Request, Response, get, post
from litestar.di import NamedDependency
from litestar.params import JSONBody, Parameter

from gradewright.accounts.guards import caller, maintainer
from gradewright.accounts.once import once
from gradewright.clock import Clock
from gradewright.core.errors import GradewrightError
from gradewright.db.session import Database
from gradewright.web.idempotency import WRITES
from gradewright.web.requests import query
from gradewright.web.responses import json_answer
from gradewright.yards.atlas import House
from gradewright.yards.house_rules import HouseRuleService
from gradewright.yards.house_schemas import HouseRulesIn, HouseRulesMade, HouseRulesOut, HouseRulesQuery

YardPath = Annotated[str, Parameter(description="The slug of a yard, such as low-quay.")]
RegionPath = Annotated[str, Parameter(description="The code of a region, such as XO-KEL.")]


class YardHouseRuleController(Controller):
    """A yard's own limits, labels and refusals."""

    path = "/v1/yards/{yard:str}/house-rules"
    tags = ["yards"]  # noqa: RUF012 - read by the framework

    @get(
        operation_id="get_yard_house_rules",
        summary="A yard's house rules",
        dependencies=query(HouseRulesQuery),
    )
    async def listed(
        self,
        yard: YardPath,
        house_rules: NamedDependency[HouseRuleService],
        clock: NamedDependency[Clock],
        asked: NamedDependency[HouseRulesQuery],
    ) -> HouseRulesOut:
        """What holds at a yard on a day, by its own word or that of a region around it, and its history."""
        return await _read(house_rules, await house_rules.yard(yard), clock, asked)

    @post(
        operation_id="add_yard_house_rules",
        summary="Add to a yard's house rules",
        guards=[maintainer],
        opt=WRITES,
    )
    async def add(
        self,
        request: Request[Any, Any, Any],
        yard: YardPath,
        data: JSONBody[HouseRulesIn],
        house_rules: NamedDependency[HouseRuleService],
        database: NamedDependency[Database],
        clock: NamedDependency[Clock],
    ) -> Response[HouseRulesMade]:
        """Adds limits, labels and refusals from a day on, or lifts them: all of it, or nothing."""
        return await _add(request, data, house_rules, lambda: house_rules.yard(yard), database, clock)


class RegionHouseRuleController(Controller):
    """A region's own limits, labels and refusals, for every yard in it that has no word of its own."""

    path = "/v1/regions/{region:str}/house-rules"
    tags = ["regions"]  # noqa: RUF012 - read by the framework

    @get(
        operation_id="get_region_house_rules",
        summary="A region's house rules",
        dependencies=query(HouseRulesQuery),
    )
    async def listed(
        self,
        region: RegionPath,
        house_rules: NamedDependency[HouseRuleService],
        clock: NamedDependency[Clock],
        asked: NamedDependency[HouseRulesQuery],
    ) -> HouseRulesOut:
        """What holds in a region on a day, by its own word or that of one above it, and its history."""
        return await _read(house_rules, await house_rules.region(region), clock, asked)

    @post(
        operation_id="add_region_house_rules",
        summary="Add to a region's house rules",
        guards=[maintainer],
        opt=WRITES,
    )
    async def add(
        self,
        request: Request[Any, Any, Any],
        region: RegionPath,
        data: JSONBody[HouseRulesIn],
        house_rules: NamedDependency[HouseRuleService],
        database: NamedDependency[Database],
        clock: NamedDependency[Clock],
    ) -> Response[HouseRulesMade]:
        """Adds limits, labels and refusals from a day on, or lifts them: all of it, or nothing."""
        return await _add(request, data, house_rules, lambda: house_rules.region(region), database, clock)


async def _read(
    house_rules: HouseRuleService, house: House, clock: Clock, asked: HouseRulesQuery
) -> HouseRulesOut:
    on = asked.on or clock().date()
    return HouseRulesOut.of(house, on, await house_rules.in_force(house, on, asked.known_at))


async def _add(
    request: Request[Any, Any, Any],
    data: HouseRulesIn,
    house_rules: HouseRuleService,
    find: Callable[[], Awaitable[House]],
    database: Database,
    clock: Clock,
) -> Response[HouseRulesMade]:
    account = caller(request)
    # What limits make of the rulebook is found out before anything is locked, and remembered. What is wrong
    # is told below, unless this very request was answered before.
    with suppress(GradewrightError):
        await house_rules.look_ahead(await find(), data.saying(clock().date()))

    async def work() -> Response[HouseRulesMade]:
        house, now = await find(), clock()
        async with database.write() as session:
            author = account.handle if account else None
            said = await house_rules.say(session, house, data.saying(now.date()), now, author)
        return json_answer(HouseRulesMade.of(house, said), status=201)

    return await once(request, database, clock(), work)
