"""Operations on hauls. Answers go out as the bytes that were hashed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

from litestar import Controller, Request, Response
from litestar.di import NamedDependency
from litestar.params import JSONBody, Parameter

from gradewright.answers.operations import Operations
from gradewright.answers.pins import Answer
from gradewright.answers.replies import answered, reply
from gradewright.hauls.answer_schemas import HaulOut
from gradewright.hauls.schemas import HaulIn
from gradewright.hauls.service import KIND, HaulService, Worked

HAULS = Operations(KIND, HaulOut)
HaulId = Annotated[str, Parameter(description="The id of a kept haul, such as h-1f2e….")]


class HaulController(Controller):
    """Which bins go to which yard."""

    path = "/v1/hauls"
    tags = ["hauls"]  # noqa: RUF012 - read by the framework

    @HAULS.work_out("haul", "Plan which bins go to which yard")
    async def haul(
        self,
        request: Request[Any, Any, Any],
        data: JSONBody[HaulIn],
        hauls: NamedDependency[HaulService],
    ) -> Response[bytes]:
        """Which bins go to which yard, in which grade, on which trip, so that the most is left after costs;
        what stays, and from which weight on it would go; the best of another choice of yards. Kept if asked.

        Hauls are worked out one at a time, each as long as is asked for at most: where many wait, it is
        answered 503 with Retry-After.
        """
        asked, worked = data.request(), list[Worked]()

        async def work() -> Answer:
            worked.append(await hauls.haul(asked))
            return worked[-1].answer

        def kept(_: Answer) -> Mapping[str, Any]:
            return worked[-1].asked

        return await answered(request, hauls.keeping, work, kept if data.keep else None)

    @HAULS.read()
    async def one(self, hauls: NamedDependency[HaulService], haul: HaulId) -> Response[bytes]:
        """The bytes that were answered when it was kept."""
        return reply(await hauls.keeping.get(haul), KIND)

    @HAULS.work_out_again("Work a kept haul out again")
    async def replay(self, hauls: NamedDependency[HaulService], haul: HaulId) -> Response[bytes]:
        """Works the kept plan out again with its pins, byte for byte the same; where it was proved that no
        plan leaves more, looks again for one that does.
        """
        return reply(await hauls.replay(haul), KIND)
