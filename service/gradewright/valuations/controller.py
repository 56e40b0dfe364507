"""Operations on gradings and valuations. Answers go out as the bytes that were hashed."""

from __future__ import annotations

from functools import partial
from typing import Annotated, Any

from litestar import Controller, Request, Response, post
from litestar.di import NamedDependency
from litestar.enums import MediaType
from litestar.openapi.datastructures import ResponseSpec
from litestar.params import JSONBody, Parameter

from gradewright.answers.operations import Operations
from gradewright.answers.pins import canonical
from gradewright.answers.replies import answered, reply
from gradewright.valuations.grading_schemas import GradingIn, GradingOut
from gradewright.valuations.gradings import GradingService
from gradewright.valuations.schemas import ValuationIn, ValuationOut
from gradewright.valuations.service import KIND, ValuationService, as_asked

VALUATIONS = Operations(KIND, ValuationOut)
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
            terms=data.terms(),
        )
        return Response(canonical(answer), media_type=MediaType.JSON)


class ValuationController(Controller):
    """What a list of parts is worth."""

    path = "/v1/valuations"
    tags = ["valuations"]  # noqa: RUF012 - read by the framework

    @VALUATIONS.work_out("value", "Value a list of parts")
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

    @VALUATIONS.read()
    async def one(
        self, valuations: NamedDependency[ValuationService], valuation: ValuationId
    ) -> Response[bytes]:
        """The bytes that were answered when it was kept."""
        return reply(await valuations.keeping.get(valuation), KIND)

    @VALUATIONS.work_out_again("Value a kept request again")
    async def replay(
        self, valuations: NamedDependency[ValuationService], valuation: ValuationId
    ) -> Response[bytes]:
        """Works the answer out again from the kept request and its pins; it is byte for byte the same."""
        return reply(await valuations.replay(valuation), KIND)
