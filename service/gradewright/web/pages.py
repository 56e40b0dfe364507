"""What a problem's `type` leads to: the kind in general; each answer's `detail` has the particulars."""

from __future__ import annotations

from typing import Annotated

from litestar import get
from litestar.params import Parameter

from gradewright.core.errors import Fault, NotFound
from gradewright.web.fields import Out
from gradewright.web.problems import KINDS


class ProblemKind(Out):
    """A kind of problem."""

    type: str
    title: str
    status: int
    advice: str


@get("/problems/{slug:str}", operation_id="get_problem_kind", summary="A kind of problem", tags=["operators"])
async def problem_kind(
    slug: Annotated[str, Parameter(description="The last part of a problem's type, such as unknown-grade.")],
) -> ProblemKind:
    """Its title, its usual status, and what to do about it."""
    kind = KINDS.get(slug)
    if kind is None:
        detail = f"There is no kind of problem {slug[:80]!r}. There are: {', '.join(KINDS)}."
        raise NotFound(detail, faults=(Fault(detail, ("slug",)),))
    return ProblemKind(type=f"/problems/{slug}", title=kind.title, status=kind.status, advice=kind.advice)
