"""Operations on teardowns. Answers go out as the bytes that were hashed."""

from __future__ import annotations

from functools import partial
from typing import Annotated, Any

from litestar import Controller, Request, Response
from litestar.di import NamedDependency
from litestar.params import JSONBody, Parameter

from gradewright.answers.operations import Operations
from gradewright.answers.replies import answered, reply
from gradewright.teardowns.answer_schemas import TeardownOut
from gradewright.teardowns.schemas import TeardownIn
from gradewright.teardowns.service import KIND, TeardownService, as_asked

TEARDOWNS = Operations(KIND, TeardownOut)
TeardownId = Annotated[str, Parameter(description="The id of a kept teardown, such as t-1f2e….")]


class TeardownController(Controller):
    """Whether to take a device apart, and how far."""

    path = "/v1/teardowns"
    tags = ["teardowns"]  # noqa: RUF012 - read by the framework

    @TEARDOWNS.work_out("tear_down", "Sell a device whole or take it apart")
    async def tear_down(
        self,
        request: Request[Any, Any, Any],
        data: JSONBody[TeardownIn],
        teardowns: NamedDependency[TeardownService],
    ) -> Response[bytes]:
        """The plan that leaves the most at the hour's rate, node by node; the best plans at all rates; which
        price or weight would change it; what weighing would be worth. Kept if asked.
        """
        asked = data.request()
        return await answered(
            request,
            teardowns.keeping,
            partial(teardowns.work_out, asked),
            partial(as_asked, asked) if data.keep else None,
        )

    @TEARDOWNS.read()
    async def one(self, teardowns: NamedDependency[TeardownService], teardown: TeardownId) -> Response[bytes]:
        """The bytes that were answered when it was kept."""
        return reply(await teardowns.keeping.get(teardown), KIND)

    @TEARDOWNS.work_out_again("Work a kept teardown out again")
    async def replay(
        self, teardowns: NamedDependency[TeardownService], teardown: TeardownId
    ) -> Response[bytes]:
        """Works the answer out again from the kept request and its pins; it is byte for byte the same."""
        return reply(await teardowns.replay(teardown), KIND)
