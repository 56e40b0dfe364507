"""Operations on recoveries. Answers go out as the bytes that were hashed."""

from __future__ import annotations

from functools import partial
from typing import Annotated, Any

from litestar import Controller, Request, Response, get, post
from litestar.di import NamedDependency
from litestar.params import JSONBody, Parameter

from gradewright.answers.replies import LOCATION, answered, described, kept_headers, reply
from gradewright.recoveries.answer_schemas import RecoveryOut
from gradewright.recoveries.schemas import RecoveryIn
from gradewright.recoveries.service import KIND, RecoveryService, as_asked
from gradewright.web.idempotency import WRITES

KEPT_HEADERS = kept_headers(KIND)
RecoveryId = Annotated[str, Parameter(description="The id of a kept recovery, such as r-1f2e….")]


class RecoveryController(Controller):
    """What of a thing is metal that pays."""

    path = "/v1/recoveries"
    tags = ["recoveries"]  # noqa: RUF012 - read by the framework

    @post(
        operation_id="recover",
        summary="Work out what of a thing is metal",
        status_code=200,
        responses=described(KIND, RecoveryOut, 200, 201),
        opt=WRITES,
        response_headers=[*KEPT_HEADERS, LOCATION],
    )
    async def recover(
        self,
        request: Request[Any, Any, Any],
        data: JSONBody[RecoveryIn],
        recoveries: NamedDependency[RecoveryService],
    ) -> Response[bytes]:
        """The copper share of a cable, the metals that a density leaves, or the ends of what precious metal
        may come to; each with what is uncertain about it. Kept if asked.
        """
        asked = data.request()
        return await answered(
            request,
            recoveries.keeping,
            partial(recoveries.recover, asked),
            partial(as_asked, asked) if data.keep else None,
        )

    @get(
        "/{recovery:str}",
        operation_id="get_recovery",
        summary="A kept recovery",
        responses=described(KIND, RecoveryOut, 200),
        response_headers=KEPT_HEADERS,
    )
    async def one(
        self, recoveries: NamedDependency[RecoveryService], recovery: RecoveryId
    ) -> Response[bytes]:
        """The bytes that were answered when it was kept."""
        return reply(await recoveries.keeping.get(recovery), KIND)

    @post(
        "/{recovery:str}/replay",
        operation_id="replay_recovery",
        summary="Work a kept recovery out again",
        status_code=200,
        responses=described(KIND, RecoveryOut, 200),
        response_headers=KEPT_HEADERS,
    )
    async def replay(
        self, recoveries: NamedDependency[RecoveryService], recovery: RecoveryId
    ) -> Response[bytes]:
        """Works the answer out again from the kept request and its pins; it is byte for byte the same."""
        return reply(await recoveries.replay(recovery), KIND)
