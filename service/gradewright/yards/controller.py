"""Operations on yards."""

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
from gradewright.web.idempotency import WRITES
from gradewright.web.requests import query
from gradewright.web.responses import json_answer
from gradewright.yards.schemas import YardIn, YardList, YardMade, YardQuery, YardSeen
from gradewright.yards.service import YardService


class YardController(Controller):
    """Buyers with a scale."""

    path = "/v1/yards"
    tags = ["yards"]  # noqa: RUF012 - read by the framework

    @get(operation_id="list_yards", summary="Yards", dependencies=query(YardQuery))
    async def listed(
        self,
        yards: NamedDependency[YardService],
        clock: NamedDependency[Clock],
        asked: NamedDependency[YardQuery],
    ) -> YardList:
        """All yards, or those in one region and below it, by slug."""
        atlas = await yards.atlas()
        found = atlas.all() if asked.region is None else atlas.under(asked.region)
        return YardList(yards=[YardSeen.seen(atlas, yard, clock().date()) for yard in found])

    @get("/{yard:str}", operation_id="get_yard", summary="One yard")
    async def one(
        self,
        yards: NamedDependency[YardService],
        clock: NamedDependency[Clock],
        yard: Annotated[str, Parameter(description="The slug of a yard, such as low-quay.")],
    ) -> YardSeen:
        """A yard by its slug, with its terms and labels."""
        atlas = await yards.atlas()
        return YardSeen.seen(atlas, atlas.yard(yard), clock().date())

    @post(
        operation_id="add_yard",
        summary="Add a yard",
        guards=[maintainer],
        opt=WRITES,
        response_headers=[
            ResponseHeader(name="Location", documentation_only=True, description="The yard's own address.")
        ],
    )
    async def add(
        self,
        request: Request[Any, Any, Any],
        data: JSONBody[YardIn],
        yards: NamedDependency[YardService],
        database: NamedDependency[Database],
        clock: NamedDependency[Clock],
    ) -> Response[YardMade]:
        """Adds a yard for good, with its own labels for grades and the grades that it does not take."""

        account = caller(request)
        author = account.handle if account else None

        async def work() -> Response[YardMade]:
            now = clock()
            async with database.write() as session:
                made = await yards.add(session, data.yard(now.date()), now, author)
            return json_answer(
                YardMade.made(made), status=201, headers={"Location": f"/v1/yards/{made.slug}"}
            )

        return await once(request, database, clock(), work)
