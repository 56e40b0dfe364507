"""Operations on what comes out of devices."""

from __future__ import annotations

from typing import Annotated, Any

from litestar import Controller, Request, Response, get, post
from litestar.di import NamedDependency
from litestar.params import JSONBody, Parameter

from gradewright.accounts.guards import caller, maintainer, member
from gradewright.accounts.once import once
from gradewright.accounts.service import Account, Role
from gradewright.clock import Clock
from gradewright.compositions.describing import concerning_kind
from gradewright.compositions.given import device_weight
from gradewright.compositions.schemas import (
    CompositionIn,
    CompositionWithdrawalIn,
    KindCorrectionIn,
    KindsQuery,
    RecordsQuery,
    TypicalQuery,
)
from gradewright.compositions.service import CompositionService
from gradewright.compositions.told import (
    CompositionOut,
    CompositionWithdrawn,
    KindCorrected,
    KindList,
    RecordList,
    RecordMade,
    RecordOut,
)
from gradewright.compositions.unusual import unusual
from gradewright.core.errors import KeyRefused
from gradewright.db.knowing import revision_of
from gradewright.db.session import Database
from gradewright.web.idempotency import WRITES
from gradewright.web.pagination import decode_cursor, encode_cursor, next_link
from gradewright.web.requests import query
from gradewright.web.responses import field_told, json_answer

AnyRequest = Request[Any, Any, Any]
KindPath = Annotated[str, Parameter(description="The slug of a kind of device, such as treadmill.")]
RecordPath = Annotated[str, Parameter(description="The id of a record, such as c-1f2e….")]


class CompositionController(Controller):
    """What kinds of device are made of, from what people found in theirs."""

    path = "/v1/compositions"
    tags = ["compositions"]  # noqa: RUF012 - read by the framework

    @get(
        operation_id="list_device_kinds",
        summary="Kinds of device of which something is known",
        dependencies=query(KindsQuery),
    )
    async def kinds(
        self,
        compositions: NamedDependency[CompositionService],
        database: NamedDependency[Database],
        asked: NamedDependency[KindsQuery],
    ) -> KindList:
        """Every kind by its slug, with how many records it has and what such devices weigh."""
        revision = await revision_of(database, asked.known_at)
        return KindList.of(await compositions.all(), revision)

    @get(
        "/{kind:str}",
        operation_id="get_composition",
        summary="What a kind of device usually consists of",
        dependencies=query(TypicalQuery),
    )
    async def typical(
        self,
        kind: KindPath,
        compositions: NamedDependency[CompositionService],
        database: NamedDependency[Database],
        clock: NamedDependency[Clock],
        asked: NamedDependency[TypicalQuery],
    ) -> CompositionOut:
        """The median and the quartiles of each grade's share and weight and of the minutes, over what people
        found: everybody has one vote, spread over their newest eight records. Where records are few low and
        high are wide, and `says` tells why. Publications count where nobody has recorded one.
        """
        revision, on = await revision_of(database, asked.known_at), asked.on or clock().date()
        weight = None
        if asked.weight is not None:
            weight = asked.weight, device_weight(asked.weight, ("weight",))
        found, typical = await compositions.typical(kind, on=on, known_at=revision)
        version = await compositions.rulebook(clock().date())
        return CompositionOut.typical(
            found,
            typical,
            on=on,
            known_at=revision,
            rulebook=version.rulebook,
            weight=weight,
            cautions=concerning_kind(found, typical, version),
        )

    @get(
        "/{kind:str}/records",
        operation_id="list_composition_records",
        summary="The records of a kind of device",
        dependencies=query(RecordsQuery),
        response_headers=[field_told("Link", "The next page, where there is one.")],
    )
    async def records(
        self,
        request: AnyRequest,
        kind: KindPath,
        compositions: NamedDependency[CompositionService],
        database: NamedDependency[Database],
        asked: NamedDependency[RecordsQuery],
    ) -> Response[RecordList]:
        """What people recorded, newest first, and what publications tell. A page that begins at a cursor is
        of the revision of the first one.
        """
        if asked.cursor is not None:
            revision, passed = decode_cursor(asked.cursor, 2)
            revision = await revision_of(database, revision)
        else:
            revision, passed = await revision_of(database, asked.known_at), 0
        known = await compositions.all()
        found = known.recorded(known.get(kind, revision).slug, revision)
        upto = passed + asked.limit
        cursor = encode_cursor(revision, upto) if len(found) > upto else None
        told = [RecordOut.of(kept, revision) for kept in found[passed:upto]]
        answer = RecordList(known_at=revision, records=told, next=cursor)
        return json_answer(answer, headers=next_link(request, cursor))

    @post(
        operation_id="record_composition",
        summary="Record what came out of a device",
        guards=[member],
        opt=WRITES,
    )
    async def record(
        self,
        request: AnyRequest,
        data: JSONBody[CompositionIn],
        compositions: NamedDependency[CompositionService],
        database: NamedDependency[Database],
        clock: NamedDependency[Clock],
    ) -> Response[RecordMade]:
        """Adds one device for good, at the next revision. What was observed of a part is graded by the
        rulebook in force. The first record of a kind brings its name along as `new_kind`. One that is far off
        what three others and more found is kept, and waits until somebody else records the like.
        """
        author = member_of(request)

        async def work() -> Response[RecordMade]:
            checked = await compositions.check(data.given(), clock())
            book = (await compositions.rulebook(clock().date())).rulebook
            odd = unusual(*await compositions.beside(checked, author.handle), book)
            async with database.write() as session:
                (made,) = await compositions.record(session, [checked], clock(), author.handle)
            told = RecordMade(id=made.name, kind=data.kind, revision=made.revision.number, unusual=odd)
            return json_answer(told, status=201)

        return await once(request, database, clock(), work)

    @post(
        "/{kind:str}/correction",
        operation_id="correct_device_kind",
        summary="Tell a kind of device otherwise",
        guards=[maintainer],
        opt=WRITES,
    )
    async def correct(
        self,
        request: AnyRequest,
        kind: KindPath,
        data: JSONBody[KindCorrectionIn],
        compositions: NamedDependency[CompositionService],
        database: NamedDependency[Database],
        clock: NamedDependency[Clock],
    ) -> Response[KindCorrected]:
        """What it is called, and the grade in which it is usually sold whole, from here on; what was known
        before stays known. Its first record has said it; a maintainer can say it better.
        """
        author = member_of(request)

        async def work() -> Response[KindCorrected]:
            told = await compositions.corrected(kind, data.name, data.grade, clock())
            async with database.write() as session:
                taken = await compositions.correct(session, told, clock(), author.handle, data.reason)
            answer = KindCorrected(
                kind=kind, name=told.name, grade=told.grade, revision=taken.number, reason=data.reason
            )
            return json_answer(answer, status=201)

        return await once(request, database, clock(), work)

    @post(
        "/{kind:str}/records/{record:str}/withdrawal",
        operation_id="withdraw_composition",
        summary="Take a record of a device back",
        guards=[member],
        opt=WRITES,
    )
    async def withdraw(
        self,
        request: AnyRequest,
        kind: KindPath,
        record: RecordPath,
        data: JSONBody[CompositionWithdrawalIn],
        compositions: NamedDependency[CompositionService],
        database: NamedDependency[Database],
        clock: NamedDependency[Clock],
    ) -> Response[CompositionWithdrawn]:
        """From here on it counts no more; what was known before stays known. Whoever recorded it can, and
        maintainers can.
        """
        author = member_of(request)
        any_ones = author.may(Role.MAINTAINER)

        async def work() -> Response[CompositionWithdrawn]:
            async with database.write() as session:
                taken = await compositions.withdraw(
                    session, kind, record, clock(), author.handle, data.reason, any_ones=any_ones
                )
            told = CompositionWithdrawn(id=record, revision=taken.number, reason=data.reason)
            return json_answer(told, status=201)

        return await once(request, database, clock(), work)


def member_of(request: AnyRequest) -> Account:
    """The account that the guard has let through."""
    account = caller(request)
    if account is None:
        raise KeyRefused("Send the key of a member.")
    return account
