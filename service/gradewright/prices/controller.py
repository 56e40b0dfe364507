"""Operations on postings, price lists and series."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Annotated, Any

from litestar import Controller, Request, Response, get, post
from litestar.datastructures import ResponseHeader
from litestar.di import NamedDependency
from litestar.params import JSONBody, Parameter

from gradewright.accounts.guards import caller, member
from gradewright.accounts.once import once
from gradewright.clock import Clock
from gradewright.core.errors import Fault, GradewrightError, Refused
from gradewright.core.units import parse_mass
from gradewright.db.session import Database
from gradewright.prices.posting_schemas import PostingIn, PostingList, PostingOut, PostingQuery
from gradewright.prices.postings import PostingService
from gradewright.prices.schemas import PriceListOut, PriceQuery, SeriesOut, SeriesQuery, price_list
from gradewright.prices.service import PriceService, days_between
from gradewright.rulebooks.service import RulebookService, resolve_grade
from gradewright.web.idempotency import WRITES
from gradewright.web.pagination import decode_cursor, encode_cursor, next_link
from gradewright.web.requests import query
from gradewright.web.responses import json_answer


class PostingController(Controller):
    """What members saw at yards."""

    path = "/v1/postings"
    tags = ["postings"]  # noqa: RUF012 - read by the framework

    @get(
        operation_id="list_postings",
        summary="Postings, newest first",
        dependencies=query(PostingQuery),
        response_headers=[
            ResponseHeader(name="Link", documentation_only=True, description="The next page (RFC 8288).")
        ],
    )
    async def listed(
        self,
        request: Request[Any, Any, Any],
        postings: NamedDependency[PostingService],
        asked: NamedDependency[PostingQuery],
    ) -> Response[PostingList]:
        """Postings of a yard, of a region, or all; later pages go on from where the first one began."""
        (before,) = decode_cursor(asked.cursor, 1) if asked.cursor else (await postings.after_newest(),)
        found = await postings.newest(asked.region, asked.yard, before=before, limit=asked.limit + 1)
        more = len(found) > asked.limit
        page = found[: asked.limit]
        cursor = encode_cursor(page[-1].row.revision) if more else None
        answer = PostingList(postings=[PostingOut.of(posting) for posting in page], next=cursor)
        return json_answer(answer, headers=next_link(request, cursor))

    @get("/{posting:str}", operation_id="get_posting", summary="One posting")
    async def one(
        self,
        postings: NamedDependency[PostingService],
        posting: Annotated[str, Parameter(description="The id of a posting, such as p-1f2e….")],
    ) -> PostingOut:
        """A posting by its id, as posted."""
        return PostingOut.of(await postings.get(posting))

    @post(
        operation_id="add_posting",
        summary="Post prices seen at a yard",
        guards=[member],
        opt=WRITES,
        response_headers=[
            ResponseHeader(name="Location", documentation_only=True, description="The posting's own address.")
        ],
    )
    async def add(
        self,
        request: Request[Any, Any, Any],
        data: JSONBody[PostingIn],
        postings: NamedDependency[PostingService],
        database: NamedDependency[Database],
        clock: NamedDependency[Clock],
    ) -> Response[PostingOut]:
        """Stores all the prices, or none: one that cannot be is pointed at, and nothing is stored.

        Where several workers serve, a read may for a moment be answered from the revision before; one that
        names the revision of this answer as `known_at` never is.
        """
        account = caller(request)

        async def work() -> Response[PostingOut]:
            given = data.given()
            checked = await postings.read(given)
            async with database.write() as session:
                stored = await postings.post(session, account.handle if account else "", given, checked)
            headers = {"Location": f"/v1/postings/{stored.row.id}"}
            return json_answer(PostingOut.of(stored), status=201, headers=headers)

        return await once(request, database, clock(), work)


class PriceController(Controller):
    """What local yards pay."""

    path = "/v1/prices"
    tags = ["prices"]  # noqa: RUF012 - read by the framework

    @get(
        operation_id="list_prices",
        summary="The price list of a region or yard",
        dependencies=query(PriceQuery),
    )
    async def listed(
        self,
        prices: NamedDependency[PriceService],
        rulebooks: NamedDependency[RulebookService],
        clock: NamedDependency[Clock],
        asked: NamedDependency[PriceQuery],
    ) -> PriceListOut:
        """Low, likely and high of every grade on a day, as known at a revision, and what each rests on."""
        on = asked.on or clock().date()
        known_at = await prices.known(asked.known_at)
        rulebook = (await rulebooks.in_force(on, known_at=known_at)).rulebook
        place = await prices.place(asked.region, asked.yard)
        found, revision = await prices.list_for(place, rulebook, on, known_at)
        grades = list(rulebook.grades)
        if asked.grade is not None:
            grades = [resolve_grade(rulebook, asked.grade, ("grade",))]
        return price_list(found, place.region, place.yard, revision, grades, _lot(asked.weight))

    @get(
        "/{region:str}/{grade:str}/series",
        operation_id="get_series",
        summary="The likely price of a grade over time",
        dependencies=query(SeriesQuery),
    )
    async def series(
        self,
        prices: NamedDependency[PriceService],
        rulebooks: NamedDependency[RulebookService],
        clock: NamedDependency[Clock],
        asked: NamedDependency[SeriesQuery],
        region: Annotated[str, Parameter(description="The code of a region, such as XO-KEL.")],
        grade: Annotated[str, Parameter(description="The slug, name or alias of a grade.")],
    ) -> SeriesOut:
        """A point for each day, week or month of a span, from the region's own yards."""
        until = asked.until or clock().date()
        since = asked.since or _year_before(until)
        days = days_between(since, until, asked.step)
        known_at = await prices.known(asked.known_at)
        rulebook = (await rulebooks.in_force(until, known_at=known_at, at=("to",))).rulebook
        slug = resolve_grade(rulebook, grade, ("grade",))
        found = await prices.series(region, slug, rulebook, days, known_at)
        return SeriesOut.of(found, rulebook.version)


def _lot(weight: str | None) -> Decimal:
    """The weight of a lot in grams; none was asked for: the price for any lot."""
    if weight is None:
        return Decimal(0)
    try:
        return parse_mass(weight).grams
    except GradewrightError as error:
        suggestions = error.faults[0].suggestions if error.faults else ()
        raise Refused(error.detail, faults=(Fault(error.detail, ("weight",), suggestions),)) from error


def _year_before(day: date) -> date:
    return date(day.year - 1, day.month, min(day.day, 28)) if day.year > 1 else day
