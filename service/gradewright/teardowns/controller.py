"""Operations on teardowns. Answers go out as the bytes that were hashed."""

from __future__ import annotations

from functools import partial
from typing import Annotated, Any

from litestar import Controller, Request, Response, get, post
from litestar.di import NamedDependency
from litestar.params import JSONBody, Parameter

from gradewright.answers.replies import LOCATION, answered, described, kept_headers, reply
from gradewright.teardowns.answer_schemas import TeardownOut
from gradewright.teardowns.schemas import TeardownIn
from gradewright.teardowns.service import KIND, TeardownService, as_asked
from gradewright.web.idempotency import WRITES

KEPT_HEADERS = kept_headers(KIND)
TeardownId = Annotated[str, Parameter(description="The id of a kept teardown, such as t-1f2e….")]


class TeardownController(Controller):
    """Whether to take a device apart, and how far."""

    path = "/v1/teardowns"
    tags = ["teardowns"]  # noqa: RUF012 - read by the framework

    @post(
        operation_id="tear_down",
        summary="Sell a device whole or take it apart",
        status_code=200,
        responses=described(KIND, TeardownOut, 200, 201),
        opt=WRITES,
        response_headers=[*KEPT_HEADERS, LOCATION],
    )
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

    @get(
        "/{teardown:str}",
        operation_id="get_teardown",
        summary="A kept teardown",
        responses=described(KIND, TeardownOut, 200),
        response_headers=KEPT_HEADERS,
    )
    async def one(self, teardowns: NamedDependency[TeardownService], teardown: TeardownId) -> Response[bytes]:
        """The bytes that were answered when it was kept."""
        return reply(await teardowns.keeping.get(teardown), KIND)

    @post(
        "/{teardown:str}/replay",
        operation_id="replay_teardown",
        summary="Work a kept teardown out again",
        status_code=200,
        responses=described(KIND, TeardownOut, 200),
        response_headers=KEPT_HEADERS,
    )
    async def replay(
        self, teardowns: NamedDependency[TeardownService], teardown: TeardownId
    ) -> Response[bytes]:
        """Works the answer out again from the kept request and its pins; it is byte for byte the same."""
        return reply(await teardowns.replay(teardown), KIND)
