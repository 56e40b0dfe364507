"""The operation that compares two versions."""

from __future__ import annotations

from typing import Annotated

from litestar import Response, get
from litestar.di import NamedDependency
from litestar.params import Parameter

from gradewright.rulebooks.comparison_schemas import ComparisonOut, ComparisonQuery
from gradewright.rulebooks.comparisons import ComparisonService
from gradewright.web.requests import query


@get(
    "/v1/rulebooks/{version:str}/comparison",
    operation_id="compare_rulebooks",
    summary="What a version changes",
    tags=["rulebooks"],
    dependencies=query(ComparisonQuery),
)
async def compare_rulebooks(
    comparisons: NamedDependency[ComparisonService],
    version: Annotated[str, Parameter(description="The name of a version, such as 2018.1.")],
    asked: NamedDependency[ComparisonQuery],
) -> Response[ComparisonOut]:
    """What the version changes against another one (`with`), or against the one that was in force before it:
    which parts are answered otherwise, each move with the smallest description that shows it and the rules
    on both sides; and every text and value that stands otherwise.

    By a solver, over every part that can be described: where no move is told, no part changes its answer.
    The first time it takes seconds, and a minute or more where much moves; one is worked out at a time.
    """
    found = await comparisons.of(version, asked.with_)
    before = await comparisons.rulebooks.get(found.before)
    after = await comparisons.rulebooks.get(found.after)
    headers = {"Cache-Control": "public, max-age=3600"}
    return Response(ComparisonOut.of(found, before.rulebook, after.rulebook), headers=headers)
