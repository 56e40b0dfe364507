"""Operations on recoveries. Answers go out as the bytes that were hashed."""

from __future__ import annotations

from functools import partial
from typing import Annotated, Any

from litestar import Controller, Request, Response
from litestar.di import NamedDependency
from litestar.params import JSONBody, Parameter

from gradewright.answers.operations import Operations
from gradewright.answers.replies import answered, reply
from gradewright.recoveries.answer_schemas import RecoveryOut
from gradewright.recoveries.schemas import RecoveryIn
from gradewright.recoveries.service import KIND, RecoveryService, as_asked

RECOVERIES = Operations(KIND, RecoveryOut)
RecoveryId = Annotated[str, Parameter(description="The id of a kept recovery, such as r-1f2e….")]


class RecoveryController(Controller):
    """What of a thing is metal that pays."""

    path = "/v1/recoveries"
    tags = ["recoveries"]  # noqa: RUF012 - read by the framework

    @RECOVERIES.work_out("recover", "Work out what of a thing is metal")
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

    @RECOVERIES.read()
    async def one(
        self, recoveries: NamedDependency[RecoveryService], recovery: RecoveryId
    ) -> Response[bytes]:
        """The bytes that were answered when it was kept."""
        return reply(await recoveries.keeping.get(recovery), KIND)

    @RECOVERIES.work_out_again("Work a kept recovery out again")
    async def replay(
        self, recoveries: NamedDependency[RecoveryService], recovery: RecoveryId
    ) -> Response[bytes]:
        """Works the answer out again from the kept request and its pins; it is byte for byte the same."""
        return reply(await recoveries.replay(recovery), KIND)
