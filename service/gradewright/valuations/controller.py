"""Operations on gradings and valuations. Answers go out as the bytes that were hashed."""

from __future__ import annotations

import base64
from typing import Annotated, Any

from litestar import Controller, Request, Response, get, post
from litestar.datastructures import ResponseHeader
from litestar.di import NamedDependency
from litestar.enums import MediaType
from litestar.openapi.datastructures import ResponseSpec
from litestar.params import JSONBody, Parameter

from gradewright.accounts.once import once
from gradewright.core.alike import ALIKE
from gradewright.valuations.answer import canonical
from gradewright.valuations.grading_schemas import GradingIn, GradingOut
from gradewright.valuations.gradings import GradingService
from gradewright.valuations.schemas import ValuationIn, ValuationOut
from gradewright.valuations.service import Kept, ValuationService
from gradewright.web.idempotency import WRITES, idempotency_key

ID = "Valuation-Id"
LEDGER_SIZE = "Ledger-Size"
LEDGER_ROOT = "Ledger-Root"
KEPT_HEADERS = [
    ResponseHeader(name=ID, documentation_only=True, description="The id of the kept valuation."),
    ResponseHeader(
        name=LEDGER_SIZE,
        documentation_only=True,
        description="How many entries the ledger had at the revision of the pins.",
    ),
    ResponseHeader(
        name=LEDGER_ROOT,
        documentation_only=True,
        description="The root of the tree over those entries, as base64: see /v1/ledger/checkpoint.",
    ),
]
ANSWER = {
    200: ResponseSpec(data_container=ValuationOut, description="The valuation", generate_examples=False)
}
KEPT = {
    201: ResponseSpec(data_container=ValuationOut, description="The valuation, kept", generate_examples=False)
}
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
        responses={**ANSWER, **KEPT},
        opt=WRITES,
        response_headers=[
            *KEPT_HEADERS,
            ResponseHeader(name="Location", documentation_only=True, description="Where it is kept."),
        ],
    )
    async def value(
        self,
        request: Request[Any, Any, Any],
        data: JSONBody[ValuationIn],
        valuations: NamedDependency[ValuationService],
    ) -> Response[bytes]:
        """Graded and priced parts, totals, and the pins that make the answer repeatable. Kept if asked."""
        asked = data.request()
        if not data.keep:
            idempotency_key(request)  # one that cannot be is refused all the same
            return Response((await valuations.value(asked)).body, media_type=MediaType.JSON)

        async def work() -> Response[bytes]:
            answer = await valuations.value(asked)
            kept = await valuations.keep(asked, answer)
            headers = {"Location": f"/v1/valuations/{kept.id}", **_beside(kept)}
            return Response(kept.body, status_code=201, media_type=MediaType.JSON, headers=headers)

        return await once(request, valuations.database, valuations.clock(), work)

    @get(
        "/{valuation:str}",
        operation_id="get_valuation",
        summary="A kept valuation",
        responses=ANSWER,
        response_headers=KEPT_HEADERS,
    )
    async def one(
        self, valuations: NamedDependency[ValuationService], valuation: ValuationId
    ) -> Response[bytes]:
        """The bytes that were answered when it was kept."""
        return _kept(await valuations.get(valuation))

    @post(
        "/{valuation:str}/replay",
        operation_id="replay_valuation",
        summary="Value a kept request again",
        status_code=200,
        responses=ANSWER,
        response_headers=KEPT_HEADERS,
    )
    async def replay(
        self, valuations: NamedDependency[ValuationService], valuation: ValuationId
    ) -> Response[bytes]:
        """Works the answer out again from the kept request and its pins; it is byte for byte the same."""
        return _kept(await valuations.replay(valuation))


def _kept(kept: Kept) -> Response[bytes]:
    return Response(kept.body, media_type=MediaType.JSON, headers=_beside(kept))


def _beside(kept: Kept) -> dict[str, str]:
    """What is told beside a kept answer; without a tree where it is older than that."""
    if kept.tree_size is None or kept.tree_root is None:
        return {ID: kept.id}
    root = base64.b64encode(kept.tree_root).decode()
    return {ID: kept.id, LEDGER_SIZE: str(kept.tree_size), LEDGER_ROOT: root}
