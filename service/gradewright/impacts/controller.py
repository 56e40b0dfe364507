"""The operation that tells what a draft would change."""

from __future__ import annotations

from collections.abc import AsyncIterator
from datetime import timedelta
from typing import Any, cast

from litestar import Request, Response, post
from litestar.di import NamedDependency
from litestar.params import JSONBody

from gradewright.accounts.guards import maintainer
from gradewright.clock import Clock
from gradewright.drafts.controller import DraftPath
from gradewright.drafts.service import DraftService
from gradewright.impacts.schemas import ImpactIn, ImpactOut
from gradewright.impacts.service import ImpactService, Looked
from gradewright.web.lines import LINES, VARIES, as_lines, line_of, stream
from gradewright.web.responses import json_answer

USUAL_SPAN = timedelta(days=90)


@post(
    "/v1/rulebook-drafts/{draft:str}/impact",
    operation_id="look_at_impact",
    summary="What a draft would change, and for whom",
    tags=["drafts"],
    guards=[maintainer],
    status_code=200,
    opt={"media": LINES, "media_schemas": dict.fromkeys(LINES, line_of("impact"))},
)
async def look_at_impact(
    request: Request[Any, Any, Any],
    draft: DraftPath,
    data: JSONBody[ImpactIn],
    drafts: NamedDependency[DraftService],
    impacts: NamedDependency[ImpactService],
    clock: NamedDependency[Clock],
) -> Response[ImpactOut]:
    """The valuations kept in a span of days, or a list, graded and valued again under the draft and under
    the version that it would supersede (`against`): how many parts change their grade, how totals move, and
    who loses and gains most. Changes nothing.

    A hundred thousand parts take some seconds. As JSON Lines it tells how far it is while it goes on.
    """
    found, today = await drafts.get(draft), clock().date()
    if data.list is not None:
        looking = impacts.of_list(found, data.list.given(today), data.against)
    else:
        until = data.to or today
        looking = impacts.of_kept(found, data.from_ or until - USUAL_SPAN, until, data.against)
    first = await anext(looking)  # what can be refused is refused before anything is answered
    kind = as_lines(request)
    if kind is not None:
        answer = stream(request, _told(found.name, first, looking), kind)
        return cast("Response[ImpactOut]", answer)  # by its usual form, the interface is described
    looked = [first, *[each async for each in looking]]
    return json_answer(ImpactOut.of(found.name, looked[-1]), headers=VARIES)


async def _told(draft: str, first: Looked, looking: AsyncIterator[Looked]) -> AsyncIterator[dict[str, Any]]:
    yield _line(draft, first)
    async for looked in looking:
        yield _line(draft, looked)


def _line(draft: str, looked: Looked) -> dict[str, Any]:
    told: dict[str, Any] = {"done": looked.done, "of": looked.of}
    if looked.impact is not None:
        told["impact"] = ImpactOut.of(draft, looked).model_dump(mode="json", by_alias=True)
    return told
