"""Operations on scale tickets. Answers go out as the bytes that were hashed, to those who settled them."""

from __future__ import annotations

from typing import Annotated, Any

from litestar import Controller, Request, Response, get, post
from litestar.di import NamedDependency
from litestar.enums import MediaType
from litestar.params import JSONBody, Parameter

from gradewright.accounts.guards import caller, member
from gradewright.accounts.once import once
from gradewright.accounts.service import Role
from gradewright.answers.operations import Operations
from gradewright.answers.replies import reply
from gradewright.settlements.markdown_schemas import MarkdownsOut
from gradewright.settlements.schemas import SettlementIn, TakingBackIn
from gradewright.settlements.service import KIND, Filed, SettlementService
from gradewright.settlements.told_schemas import SettlementOut, TakenBackOut
from gradewright.web.fields import show_instant
from gradewright.web.idempotency import WRITES, idempotency_key
from gradewright.web.responses import field_told, json_answer

POSTING = "Posting-Id"
WITHDRAWN = "Withdrawn-At"
LOOKS_LIKE = "Looks-Like"
HEADERS = [
    field_told(POSTING, "The posting of the ticket's prices, where they were posted."),
    field_told(WITHDRAWN, "When the settlement was taken back, where it was."),
    field_told(
        LOOKS_LIKE,
        "The id of another settlement of yours that stands, where its ticket looks like this one: of the "
        "same yard and day, with lines that weigh and come to the same. In figures the two count as one. "
        "If they are one ticket, take one of them back.",
    ),
]
SETTLEMENTS = Operations(KIND, SettlementOut, HEADERS, [member])
Asking = Request[Any, Any, Any]
SettlementId = Annotated[str, Parameter(description="The id of a kept settlement, such as s-1f2e….")]
YardName = Annotated[str, Parameter(description="The slug of a yard.")]


class SettlementController(Controller):
    """Scale tickets, held against what was expected. Private to those who settle them, and maintainers."""

    path = "/v1/settlements"
    tags = ["settlements"]  # noqa: RUF012 - read by the framework

    @SETTLEMENTS.work_out("settle", "Hold a scale ticket against what was expected")
    async def settle(
        self,
        request: Asking,
        data: JSONBody[SettlementIn],
        settlements: NamedDependency[SettlementService],
    ) -> Response[bytes]:
        """Where the difference comes from: weight, deductions, grade, price, rounding, faults on the ticket.

        Lines are matched with bins by grade, or by hand; what is unclear is told, and never guessed. A ticket
        is kept once; one that looks like it under another number is kept, with the word that it does, and the
        two count as one. With your consent its prices are posted; one that adds up stands for a second author
        of each, where a price would have to wait for one.
        """
        asked = data.request()
        if not data.keep:
            idempotency_key(request)  # one that cannot be is refused all the same
            return Response((await settlements.settle(asked)).answer.body, media_type=MediaType.JSON)
        author, _ = _who(request)

        async def work() -> Response[bytes]:
            worked = await settlements.settle(asked)
            filed = await settlements.keep(author, worked, post_prices=data.post_prices)
            return _reply(filed, status=201)

        return await once(request, settlements.database, settlements.clock(), work)

    @SETTLEMENTS.read()
    async def one(
        self, request: Asking, settlements: NamedDependency[SettlementService], settlement: SettlementId
    ) -> Response[bytes]:
        """The bytes that were answered when it was kept; for its author and maintainers."""
        reader, maintains = _who(request)
        return _reply(await settlements.get(settlement, reader, maintains=maintains))

    @SETTLEMENTS.work_out_again("Settle a kept ticket again")
    async def replay(
        self, request: Asking, settlements: NamedDependency[SettlementService], settlement: SettlementId
    ) -> Response[bytes]:
        """Works the answer out again from the kept request and its pins; it is byte for byte the same."""
        reader, maintains = _who(request)
        return _reply(await settlements.replay(settlement, reader, maintains=maintains))

    @post(
        "/{settlement:str}/withdrawal",
        operation_id="withdraw_settlement",
        summary="Take a settlement back",
        guards=[member],
        opt=WRITES,
    )
    async def withdraw(
        self,
        request: Asking,
        data: JSONBody[TakingBackIn],
        settlements: NamedDependency[SettlementService],
        settlement: SettlementId,
    ) -> Response[TakenBackOut]:
        """It then counts in no figure, and its ticket can be settled again; it stays readable.

        Its author takes back with it what was posted of it. A maintainer can take it back too: on prices they
        decide for themselves.
        """
        reader, maintains = _who(request)

        async def work() -> Response[TakenBackOut]:
            async with settlements.database.write() as session:
                back = await settlements.withdraw(
                    session, settlement, reader, data.reason, maintains=maintains
                )
            return json_answer(TakenBackOut.of(back), status=201)

        return await once(request, settlements.database, settlements.clock(), work)


@get(
    "/v1/yards/{yard:str}/settlements",
    operation_id="yard_markdowns",
    summary="How often a yard marks down",
    tags=["settlements"],
    guards=[member],
)
async def yard_markdowns(settlements: NamedDependency[SettlementService], yard: YardName) -> MarkdownsOut:
    """How often and by how much a yard accepts less than was brought, with counts and intervals.

    Never of fewer than three sellers: tickets come in by lots of three sellers and more.
    """
    return MarkdownsOut.of(yard, await settlements.markdowns(yard))


def _who(request: Asking) -> tuple[str, bool]:
    account = caller(request)
    if account is None:
        raise AssertionError("only members come here")
    return account.handle, account.may(Role.MAINTAINER)


def _reply(filed: Filed, *, status: int = 200) -> Response[bytes]:
    answer = reply(filed.kept, KIND, status=status)
    if filed.posting is not None:
        answer.headers[POSTING] = filed.posting
    if filed.withdrawn_at is not None:
        answer.headers[WITHDRAWN] = show_instant(filed.withdrawn_at)
    if filed.looks_like is not None:
        answer.headers[LOOKS_LIKE] = filed.looks_like
    return answer
