"""Operations on regions."""

from __future__ import annotations

from typing import Annotated, Any

from litestar import Controller, Request, Response, get, post
from litestar.datastructures import ResponseHeader
from litestar.di import NamedDependency
from litestar.params import JSONBody, Parameter

from gradewright.accounts.guards import caller, maintainer
from gradewright.accounts.once import once
from gradewright.clock import Clock
from gradewright.db.session import Database
from gradewright.regions.schemas import RegionIn, RegionList, RegionMade, RegionOut
from gradewright.regions.service import RegionService
from gradewright.web.idempotency import WRITES
from gradewright.web.responses import json_answer


class RegionController(Controller):
    """Where prices are compared."""

    path = "/v1/regions"
    tags = ["regions"]  # noqa: RUF012 - read by the framework

    @get(operation_id="list_regions", summary="All regions")
    async def listed(self, regions: NamedDependency[RegionService]) -> RegionList:
        """Every region, by code."""
        return RegionList(regions=[RegionOut.of(region) for region in (await regions.tree()).all()])

    @get("/{region:str}", operation_id="get_region", summary="One region")
    async def one(
        self,
        regions: NamedDependency[RegionService],
        region: Annotated[str, Parameter(description="The code of a region, such as XO-KEL.")],
    ) -> RegionOut:
        """A region by its code."""
        return RegionOut.of((await regions.tree()).get(region))

    @post(
        operation_id="add_region",
        summary="Add a region",
        guards=[maintainer],
        opt=WRITES,
        response_headers=[
            ResponseHeader(name="Location", documentation_only=True, description="The region's own address.")
        ],
    )
    async def add(
        self,
        request: Request[Any, Any, Any],
        data: JSONBody[RegionIn],
        regions: NamedDependency[RegionService],
        database: NamedDependency[Database],
        clock: NamedDependency[Clock],
    ) -> Response[RegionMade]:
        """Adds a region for good. Its parent must exist, and its code must begin with the parent's."""

        account = caller(request)
        author = account.handle if account else None

        async def work() -> Response[RegionMade]:
            async with database.write() as session:
                made = await regions.add(session, data.region(), clock(), author)
            return json_answer(
                RegionMade.made(made), status=201, headers={"Location": f"/v1/regions/{made.code}"}
            )

        return await once(request, database, clock(), work)
