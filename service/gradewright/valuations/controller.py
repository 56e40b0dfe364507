"""Operations on gradings and valuations. Answers go out as the bytes that were hashed."""

from __future__ import annotations

from functools import partial
from typing import Annotated, Any

from litestar import Controller, Request, Response, get, post
from litestar.di import NamedDependency
from litestar.enums import MediaType
from litestar.openapi.datastructures import ResponseSpec
from litestar.params import JSONBody, Parameter

from gradewright.answers.pins import canonical
from gradewright.answers.replies import LOCATION, answered, described, kept_headers, reply
from gradewright.core.alike import ALIKE
from gradewright.valuations.grading_schemas import GradingIn, GradingOut
from gradewright.valuations.gradings import GradingService
from gradewright.valuations.schemas import ValuationIn, ValuationOut
from gradewright.valuations.service import KIND, ValuationService, as_asked
from gradewright.web.idempotency import WRITES

KEPT_HEADERS = kept_headers(KIND)
ValuationId = Annotated[str, Parameter(description="The id of a kept valuation, such as v-1f2e….")]


class GradingController(Controller):
    """What one part is accepted as."""

    path = "/v1/gradings"
    tags = ["gradings"]  # noqa: RUF012 - read by the framework

    @post(
        operation_id="grade",
        summary="Grade one part",
        status_code=200,
        responses={
            200: ResponseSpec(data_container=GradingOut, description="The grading", generate_examples=False)
        },
    )
    async def grade(
        self, data: JSONBody[GradingIn], gradings: NamedDependency[GradingService]
    ) -> Response[bytes]:
        """The grade, the rule and its reason; or what the part can still be, and what to find out next."""
        answer = await gradings.grade(
            data.observed,
            rulebook=data.rulebook,
            on=data.on,
            region=data.region,
            yard=data.yard,
            skip=data.skip,
            alike_within=ALIKE if data.alike_within is None else data.alike_within,
        )
        return Response(canonical(answer), media_type=MediaType.JSON)


class ValuationController(Controller):
    """What a list of parts is worth."""

    path = "/v1/valuations"
    tags = ["valuations"]  # noqa: RUF012 - read by the framework

    @post(
        operation_id="value",
        summary="Value a list of parts",
        status_code=200,
        responses=described(KIND, ValuationOut, 200, 201),
        opt=WRITES,
        response_headers=[*KEPT_HEADERS, LOCATION],
    )
    async def value(
        self,
        request: Request[Any, Any, Any],
        data: JSONBody[ValuationIn],
        valuations: NamedDependency[ValuationService],
    ) -> Response[bytes]:
        """Graded and priced parts, totals, and the pins that make the answer repeatable. Kept if asked."""
        asked = data.request()
        return await answered(
            request,
            valuations.keeping,
            partial(valuations.value, asked),
            partial(as_asked, asked) if data.keep else None,
        )

    @get(
        "/{valuation:str}",
        operation_id="get_valuation",
        summary="A kept valuation",
        responses=described(KIND, ValuationOut, 200),
        response_headers=KEPT_HEADERS,
    )
    async def one(
        self, valuations: NamedDependency[ValuationService], valuation: ValuationId
    ) -> Response[bytes]:
        """The bytes that were answered when it was kept."""
        return reply(await valuations.keeping.get(valuation), KIND)

    @post(
        "/{valuation:str}/replay",
        operation_id="replay_valuation",
        summary="Value a kept request again",
        status_code=200,
        responses=described(KIND, ValuationOut, 200),
        response_headers=KEPT_HEADERS,
    )
    async def replay(
        self, valuations: NamedDependency[ValuationService], valuation: ValuationId
    ) -> Response[bytes]:
        """Works the answer out again from the kept request and its pins; it is byte for byte the same."""
        return reply(await valuations.replay(valuation), KIND)
