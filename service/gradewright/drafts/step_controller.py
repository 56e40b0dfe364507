"""Operations that take a draft on: check, submit, approve, send back, withdraw."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import replace
from typing import Any, cast

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
from gradewright.drafts.schemas import ApprovalIn, DraftTaken, WhyIn
from gradewright.drafts.service import DraftService
from gradewright.rulebooks.comparison_controller import COMPARED, compared
from gradewright.rulebooks.comparison_schemas import ComparisonOut, ComparisonQuery
from gradewright.web.conditions import IF_MATCH, UNMET, conditional
from gradewright.web.idempotency import WRITES
from gradewright.web.lines import LINES, VARIES, Tell, as_lines, heard, line_of, stream
from gradewright.web.requests import query
from gradewright.web.responses import field_told, json_answer

Asking = Request[Any, Any, Any]
Taking = Callable[[str, Saying], Awaitable[Taken]]


def a_step(
    name: str,
    verb: str,
    summary: str,
    which: Callable[[DraftService], Taking],
    says: str,
    *,
    proved: bool,
    takes: type[WhyIn] = WhyIn,
) -> Any:
    """The operation of a step that says why, and after which step it is taken.

    `proved`: whether the document has to be sound for it, which is found out before anything is locked;
    `takes`: what the body says.
    """

    async def take(
        self: Controller,
        request: Asking,
        draft: DraftPath,
        data: JSONBody[WhyIn],
        drafts: NamedDependency[DraftService],
        database: NamedDependency[Database],
        clock: NamedDependency[Clock],
    ) -> Response[DraftTaken]:
        by = saying(request, clock, data.why, known_tags(request))
        if isinstance(data, ApprovalIn):
            by = replace(by, ended_by=data.ended_by)
        if proved:
            await drafts.look_ahead(draft, by.tags or (), by.now)

        async def work() -> Response[DraftTaken]:
            taken = await which(drafts)(draft, by)
            address = f"/v1/rulebook-drafts/{draft}/steps/{taken.draft.last.number}"
            return taken_answer(taken, status=201, Location=address)

        with telling_what_changed():
            return await once(request, database, clock(), work)

    take.__doc__ = says
    body: Any = JSONBody
    take.__annotations__["data"] = body[takes]
    return post(
        f"/{name}",
        operation_id=f"{verb}_rulebook_draft",
        summary=summary,
        guards=[maintainer, conditional],
        opt={**WRITES, "headers": IF_MATCH, "problems": UNMET},
        response_headers=[ETAG, field_told("Location", "The step's own address.")],
    )(take)


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
        opt={
            "media": LINES,
            "media_schemas": dict.fromkeys(LINES, line_of("check", what="What is looked at.")),
        },
    )
    async def check(
        self,
        request: Asking,
        draft: DraftPath,
        drafts: NamedDependency[DraftService],
        clock: NamedDependency[Clock],
    ) -> Response[CheckOut]:
        """All that keeps the draft from being published today: faults of its document, examples that do not
        come true, rules that nothing reaches; a version or a day that is taken; what would be lost of a
        version that was published since. Where there is none of these it is proved: every part that
        can be described gets one answer, or the smallest that does not is shown. The first time, that takes
        some seconds; as JSON Lines it tells how far it is. Changes nothing.
        """
        found, now, kind = await drafts.get(draft), clock(), as_lines(request)

        async def work(tell: Tell) -> dict[str, Any]:
            checked = await drafts.check(found, now, tell)
            return {"check": CheckOut.of(found, checked, now.date()).model_dump(mode="json")}

        if kind is not None:
            answer = stream(request, heard(work), kind)
            return cast("Response[CheckOut]", answer)  # by its usual form, the interface is described
        return json_answer(CheckOut.of(found, await drafts.check(found, now), now.date()), headers=VARIES)

    @get(
        "/comparison",
        operation_id="compare_rulebook_draft",
        summary="What a draft would change",
        guards=[maintainer],
        dependencies=query(ComparisonQuery),
        opt=COMPARED,
    )
    async def compare(
        self,
        request: Asking,
        draft: DraftPath,
        drafts: NamedDependency[DraftService],
        asked: NamedDependency[ComparisonQuery],
    ) -> Response[ComparisonOut]:
        """What the draft, as it stands, changes against a published version (`with`), or against the one that
        it builds on: which parts are answered otherwise, each move with the smallest description that shows
        it and the rules on both sides; and every text and value that stands otherwise. By a solver, over
        every part that can be described; the first time it takes some seconds, and as JSON Lines it tells how
        far it is.
        """
        found, kind = await drafts.get(draft), as_lines(request)

        async def work(tell: Tell | None = None) -> ComparisonOut:
            before, after, moves = await drafts.compare(found, asked.with_, tell)
            return ComparisonOut.of(moves, before, after)

        return await compared(request, work, kind, VARIES)

    submit = a_step(
        "submission",
        "submit",
        "Submit a draft",
        lambda drafts: drafts.submit,
        "Puts the draft before a second maintainer; it cannot be edited meanwhile. Refused while its check "
        "finds any fault: every one is named, and points into the draft's document.",
        proved=True,
    )
    approve = a_step(
        "approval",
        "approve",
        "Approve a draft",
        lambda drafts: drafts.approve,
        "Publishes the draft for good, in force from its day on. For a maintainer who has neither written "
        "nor submitted it. It is checked once more: time has gone on, and others may have published. Where a "
        "version that begins later is published already, the changes of this one end on that day: `ended_by` "
        "names it, as the check does, and says that this is meant.",
        proved=True,
        takes=ApprovalIn,
    )
    refuse = a_step(
        "refusal",
        "refuse",
        "Send a draft back",
        lambda drafts: drafts.refuse,
        "Sends a submitted draft back with the reason: it can be edited again. For a maintainer who has "
        "neither written nor submitted it.",
        proved=False,
    )
    withdraw = a_step(
        "withdrawal",
        "withdraw",
        "Withdraw a draft",
        lambda drafts: drafts.withdraw,
        "Gives a draft up that is not published. It stays readable, and others can be made of it.",
        proved=False,
    )
