"""Operations that take a draft on: check, submit, approve, send back, withdraw."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Any

from litestar import Controller, Request, Response, get, post
from litestar.di import NamedDependency
from litestar.params import JSONBody

from gradewright.accounts.guards import maintainer
from gradewright.accounts.once import once
from gradewright.clock import Clock
from gradewright.db.session import Database
from gradewright.drafts.check_schemas import CheckOut
from gradewright.drafts.controller import ETAG, DraftPath
from gradewright.drafts.draft import Saying, Taken
from gradewright.drafts.replies import known_tags, saying, taken_answer, telling_what_changed
from gradewright.drafts.schemas import DraftTaken, WhyIn
from gradewright.drafts.service import DraftService
from gradewright.rulebooks.comparison_schemas import ComparisonOut, ComparisonQuery
from gradewright.web.conditions import IF_MATCH, UNMET
from gradewright.web.idempotency import WRITES
from gradewright.web.requests import query
from gradewright.web.responses import field_told

STEPS: dict[str, Any] = {
    "guards": [maintainer],
    "opt": {**WRITES, "headers": IF_MATCH, "problems": UNMET},
    "response_headers": [ETAG, field_told("Location", "The step's own address.")],
}
Asking = Request[Any, Any, Any]


class DraftStepController(Controller):
    """From a draft to a published version."""

    path = "/v1/rulebook-drafts/{draft:str}"
    tags = ["drafts"]  # noqa: RUF012 - read by the framework

    @post(
        "/check",
        operation_id="check_rulebook_draft",
        summary="Check a draft",
        guards=[maintainer],
        status_code=200,
    )
    async def check(
        self,
        draft: DraftPath,
        drafts: NamedDependency[DraftService],
        clock: NamedDependency[Clock],
    ) -> CheckOut:
        """All that keeps the draft from being published today: faults of its document, examples that do not
        come true, rules that nothing reaches; a version or a day that is taken; what would be lost of a
        version that was published since. A document without faults of its own is proved: every part that
        can be described gets one answer, or the smallest that does not is shown. The first time, that takes
        some seconds. Changes nothing.
        """
        found, now = await drafts.get(draft), clock()
        return CheckOut.of(found, await drafts.check(found, now), now.date())

    @get(
        "/comparison",
        operation_id="compare_rulebook_draft",
        summary="What a draft would change",
        guards=[maintainer],
        dependencies=query(ComparisonQuery),
    )
    async def compare(
        self,
        draft: DraftPath,
        drafts: NamedDependency[DraftService],
        asked: NamedDependency[ComparisonQuery],
    ) -> ComparisonOut:
        """What the draft, as it stands, changes against a published version (`with`), or against the one that
        it builds on: which parts are answered otherwise, each move with the smallest description that shows
        it and the rules on both sides; and every text and value that stands otherwise. By a solver, over
        every part that can be described; the first time it takes some seconds.
        """
        before, after, moves = await drafts.compare(await drafts.get(draft), asked.with_)
        return ComparisonOut.of(moves, before, after)

    @post("/submission", operation_id="submit_rulebook_draft", summary="Submit a draft", **STEPS)
    async def submit(
        self,
        request: Asking,
        draft: DraftPath,
        data: JSONBody[WhyIn],
        drafts: NamedDependency[DraftService],
        database: NamedDependency[Database],
        clock: NamedDependency[Clock],
    ) -> Response[DraftTaken]:
        """Puts the draft before a second maintainer; it cannot be edited meanwhile. Refused while its check
        finds any fault: every one is named, and points into the draft's document.
        """
        await drafts.look_ahead(draft, known_tags(request), clock())
        return await _taken(request, draft, data, drafts.submit, database, clock)

    @post("/approval", operation_id="approve_rulebook_draft", summary="Approve a draft", **STEPS)
    async def approve(
        self,
        request: Asking,
        draft: DraftPath,
        data: JSONBody[WhyIn],
        drafts: NamedDependency[DraftService],
        database: NamedDependency[Database],
        clock: NamedDependency[Clock],
    ) -> Response[DraftTaken]:
        """Publishes the draft for good, in force from its day on. For a maintainer who has neither written
        nor submitted it. It is checked once more: time has gone on, and others may have published.
        """
        await drafts.look_ahead(draft, known_tags(request), clock())
        return await _taken(request, draft, data, drafts.approve, database, clock)

    @post("/refusal", operation_id="refuse_rulebook_draft", summary="Send a draft back", **STEPS)
    async def refuse(
        self,
        request: Asking,
        draft: DraftPath,
        data: JSONBody[WhyIn],
        drafts: NamedDependency[DraftService],
        database: NamedDependency[Database],
        clock: NamedDependency[Clock],
    ) -> Response[DraftTaken]:
        """Sends a submitted draft back with the reason: it can be edited again. For a maintainer who has
        neither written nor submitted it.
        """
        return await _taken(request, draft, data, drafts.refuse, database, clock)

    @post("/withdrawal", operation_id="withdraw_rulebook_draft", summary="Withdraw a draft", **STEPS)
    async def withdraw(
        self,
        request: Asking,
        draft: DraftPath,
        data: JSONBody[WhyIn],
        drafts: NamedDependency[DraftService],
        database: NamedDependency[Database],
        clock: NamedDependency[Clock],
    ) -> Response[DraftTaken]:
        """Gives a draft up that is not published. It stays readable, and others can be made of it."""
        return await _taken(request, draft, data, drafts.withdraw, database, clock)


async def _taken(
    request: Asking,
    draft: str,
    data: WhyIn,
    take: Callable[[str, Saying], Awaitable[Taken]],
    database: Database,
    clock: Clock,
) -> Response[DraftTaken]:
    by = saying(request, clock, data.why, known_tags(request))

    async def work() -> Response[DraftTaken]:
        taken = await take(draft, by)
        address = f"/v1/rulebook-drafts/{draft}/steps/{taken.draft.last.number}"
        return taken_answer(taken, status=201, Location=address)

    with telling_what_changed():
        return await once(request, database, clock(), work)
