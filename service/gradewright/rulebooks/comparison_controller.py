"""The operation that compares two versions."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping
from typing import Annotated, Any, cast

from litestar import Request, Response, get
from litestar.di import NamedDependency
from litestar.params import Parameter

from gradewright.accounts.guards import BY_NAME, caller, known
from gradewright.accounts.service import Role
from gradewright.rulebooks.comparison_schemas import ComparisonOut, ComparisonQuery
from gradewright.rulebooks.comparisons import ComparisonService
from gradewright.web.lines import LINES, Tell, as_lines, begun, heard, line_of, stream
from gradewright.web.requests import query

COMPARED = {
    "media": LINES,
    "media_schemas": dict.fromkeys(LINES, line_of("comparison", what="What is counted.")),
}
"""What is said of operations that compare."""


@get(
    "/v1/rulebooks/{version:str}/comparison",
    operation_id="compare_rulebooks",
    summary="What a version changes",
    tags=["rulebooks"],
    guards=[known],
    dependencies=query(ComparisonQuery),
    opt={**COMPARED, **BY_NAME, "problems": (403,)},
)
async def compare_rulebooks(
    request: Request[Any, Any, Any],
    comparisons: NamedDependency[ComparisonService],
    version: Annotated[str, Parameter(description="The name of a version, such as 2018.1.")],
    asked: NamedDependency[ComparisonQuery],
) -> Response[ComparisonOut]:
    """What the version changes against another one (`with`), or against the one that was in force before it:
    which parts are answered otherwise, each move with the smallest description that shows it and the rules
    on both sides; and every text and value that stands otherwise.

    By a solver, over every part that can be described: where no move is told, no part changes its answer.
    Of what can be told of some things only there is one move for each entry (`by`), with a description that
    shows it: it was told of other things, and is a contradiction now, or the other way round. The first time
    it takes seconds, and minutes where much moves; those that are worked out together take turns, those of
    maintainers first. One that takes more than ten minutes of a processor is ended (403), and worked out
    where a maintainer asks with their key: then it is kept for everybody. Where others wait, it is ended
    sooner (503). As JSON Lines it tells how far it is.
    """
    account = caller(request)
    first = account is not None and account.may(Role.MAINTAINER)

    async def work(tell: Tell | None = None) -> ComparisonOut:
        found = await comparisons.of(version, asked.with_, tell, first=first)
        before = await comparisons.rulebooks.get(found.before)
        after = await comparisons.rulebooks.get(found.after)
        return ComparisonOut.of(found, before.rulebook, after.rulebook)

    headers = {"Vary": "Accept", "Cache-Control": "public, max-age=3600"}
    return await compared(request, work, as_lines(request), headers)


async def compared(
    request: Request[Any, Any, Any],
    work: Callable[[Tell | None], Awaitable[ComparisonOut]],
    kind: str | None,
    headers: dict[str, str],
) -> Response[ComparisonOut]:
    """A comparison as one answer with these headers, or in lines of a kind that tell how far it is."""
    if kind is None:
        return Response(await work(None), headers=headers)

    async def lines(tell: Tell) -> Mapping[str, Any]:
        return {"comparison": (await work(tell)).model_dump(mode="json")}

    answer = stream(request, await begun(heard(lines)), kind)
    return cast("Response[ComparisonOut]", answer)  # by its usual form, the interface is described
