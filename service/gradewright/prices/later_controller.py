"""Operations that say something later of a posting, and the prices that wait for it."""

from __future__ import annotations

from typing import Any

from litestar import Controller, Request, Response, get, post
from litestar.di import NamedDependency
from litestar.params import JSONBody

from gradewright.accounts.guards import caller, maintainer, member
from gradewright.accounts.once import once
from gradewright.accounts.service import Role
from gradewright.prices.later import LaterWords, Saying
from gradewright.prices.later_schemas import (
    CorrectionIn,
    CorrectionOut,
    DecisionIn,
    HeldList,
    HeldQuery,
    WordIn,
    WordMade,
)
from gradewright.prices.posting_controller import PostingId
from gradewright.prices.posting_schemas import PostingOut
from gradewright.prices.postings import PostingService
from gradewright.prices.said import CONFIRMATION, DISPUTE, WITHDRAWAL
from gradewright.prices.views import PostingViews, as_posted
from gradewright.web.idempotency import WRITES
from gradewright.web.requests import query
from gradewright.web.responses import json_answer

Asking = Request[Any, Any, Any]


class LaterController(Controller):
    """Later words about what members posted. The prices themselves stay as they are."""

    path = "/v1/postings/{posting:str}"
    tags = ["postings"]  # noqa: RUF012 - read by the framework

    @post(
        "/withdrawal",
        operation_id="withdraw_posting",
        summary="Take prices of your own back",
        guards=[member],
        opt=WRITES,
    )
    async def withdraw(
        self,
        request: Asking,
        data: JSONBody[WordIn],
        later: NamedDependency[LaterWords],
        posting: PostingId,
    ) -> Response[WordMade]:
        """From here on they count no more; what was known before stays known. Only their author can."""
        return await _said(request, later, posting, data.saying(WITHDRAWAL))

    @post(
        "/confirmation",
        operation_id="confirm_posting",
        summary="Confirm prices of another member",
        guards=[member],
        opt=WRITES,
    )
    async def confirm(
        self,
        request: Asking,
        data: JSONBody[WordIn],
        later: NamedDependency[LaterWords],
        posting: PostingId,
    ) -> Response[WordMade]:
        """A price that waits counts once a second member is behind it; of one member the last word stands."""
        return await _said(request, later, posting, data.saying(CONFIRMATION))

    @post(
        "/dispute",
        operation_id="dispute_posting",
        summary="Dispute prices of another member",
        guards=[member],
        opt=WRITES,
    )
    async def dispute(
        self,
        request: Asking,
        data: JSONBody[WordIn],
        later: NamedDependency[LaterWords],
        posting: PostingId,
    ) -> Response[WordMade]:
        """Two members who weigh more than those behind a price make it wait; maintainers decide."""
        return await _said(request, later, posting, data.saying(DISPUTE))

    @post(
        "/decision",
        operation_id="decide_on_posting",
        summary="Decide on prices",
        guards=[maintainer],
        opt=WRITES,
    )
    async def decide(
        self,
        request: Asking,
        data: JSONBody[DecisionIn],
        later: NamedDependency[LaterWords],
        posting: PostingId,
    ) -> Response[WordMade]:
        """An accepted price counts whatever others say, a rejected one does not; the last decision stands."""
        return await _said(request, later, posting, data.decision())

    @post(
        "/correction",
        operation_id="correct_posting",
        summary="Put prices of your own right",
        guards=[member],
        opt=WRITES,
    )
    async def correct(
        self,
        request: Asking,
        data: JSONBody[CorrectionIn],
        later: NamedDependency[LaterWords],
        postings: NamedDependency[PostingService],
        views: NamedDependency[PostingViews],
        posting: PostingId,
    ) -> Response[CorrectionOut]:
        """Takes lines back and posts others in their place, in one revision: all of it or nothing."""
        account = caller(request)

        async def work() -> Response[CorrectionOut]:
            given = data.given(await views.posted(posting))
            checked = await postings.read(given)
            handle = account.handle if account else ""
            async with later.database.write() as session:
                said = await later.correct(session, posting, handle, data.withdrawal(), given, checked)
            assert said.instead is not None  # noqa: S101 - a correction has one
            answer = CorrectionOut(
                withdrawal=WordMade.made(said), posting=PostingOut.of(as_posted(said.instead), account)
            )
            headers = {"Location": f"/v1/postings/{said.instead.row.id}"}
            return json_answer(answer, status=201, headers=headers)

        return await once(request, later.database, later.clock(), work)


@get(
    "/v1/held-prices",
    operation_id="list_held_prices",
    summary="Prices that wait",
    tags=["postings"],
    dependencies=query(HeldQuery),
    guards=[member],
)
async def held_prices(
    request: Asking, views: NamedDependency[PostingViews], asked: NamedDependency[HeldQuery]
) -> HeldList:
    """The prices of a region that wait instead of counting, with the figures that hold them: in its list of
    today, or of the day `on`.

    Maintainers see all of them, members their own.
    """
    account = caller(request)
    found = await views.waiting(asked.region, asked.on, asked.known_at)
    if account is not None and not account.may(Role.MAINTAINER):
        found = [view for view in found if view.row.author == account.handle]
    return HeldList(postings=[PostingOut.of(view, account) for view in found])


async def _said(request: Asking, later: LaterWords, posting: str, saying: Saying) -> Response[WordMade]:
    account = caller(request)

    async def work() -> Response[WordMade]:
        async with later.database.write() as session:
            said = await later.say(session, posting, account.handle if account else "", saying)
        return json_answer(WordMade.made(said), status=201)

    return await once(request, later.database, later.clock(), work)
