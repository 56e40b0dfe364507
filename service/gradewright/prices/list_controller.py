"""Operations on whole lists of a yard."""

from __future__ import annotations

from typing import Annotated, Any

from litestar import Controller, Request, Response, get, post
from litestar.di import NamedDependency
from litestar.openapi.datastructures import ResponseSpec
from litestar.params import Parameter

from gradewright.accounts.guards import caller, member
from gradewright.accounts.once import once
from gradewright.clock import Clock
from gradewright.db.session import Database
from gradewright.prices.list_files import LISTS
from gradewright.prices.list_schemas import ListCompared, ListQuery, ListUploadQuery, exported, line_of
from gradewright.prices.lists import ListService
from gradewright.prices.postings import PostingService
from gradewright.web.idempotency import WRITES, idempotency_key
from gradewright.web.preferring import preferred
from gradewright.web.problems import ProblemError, RequestRefused
from gradewright.web.requests import admits, query
from gradewright.web.responses import field_told, json_answer
from gradewright.web.tables import CSV, LINES

MEDIA = (CSV, *LINES)
MOST_BYTES = 8 * 1024 * 1024
"""10,000 lines of the longest labels fit; other bodies are bound by the setting."""

EXAMPLES = {
    CSV: "label,price,per,from_weight\n#2 Cu,3.35,lb,\n#2 Cu,3.45,lb,100 lb\n",
    **dict.fromkeys(LINES, '{"label":"#2 Cu","price":"3.35"}\n{"grade":"light-iron","price":"0.08"}\n'),
}
DRY = {200: ResponseSpec(data_container=ListCompared, description="A dry run", generate_examples=False)}
YardPath = Annotated[str, Parameter(description="The slug of a yard, such as low-quay.")]
AnyRequest = Request[Any, Any, Any]


class ListController(Controller):
    """A yard's whole list, as a file."""

    path = "/v1/yards/{yard:str}/lists"
    tags = ["lists"]  # noqa: RUF012 - read by the framework

    @post(
        operation_id="upload_list",
        summary="Post a yard's whole list",
        dependencies=query(ListUploadQuery),
        guards=[member],
        opt={**WRITES, "takes": EXAMPLES},
        request_max_body_size=MOST_BYTES,
        responses=DRY,
        response_headers=[field_told("Location", "The posting's own address, once it is stored.")],
    )
    async def upload(
        self,
        request: AnyRequest,
        yard: YardPath,
        lists: NamedDependency[ListService],
        postings: NamedDependency[PostingService],
        database: NamedDependency[Database],
        clock: NamedDependency[Clock],
        asked: NamedDependency[ListUploadQuery],
    ) -> Response[ListCompared]:
        """Takes CSV, whose first line names the columns, or JSON Lines with the same names: `label` (the
        yard's own word) or `grade` or both, `price`, and `currency`, `per`, `from_weight` where they differ
        from the yard's terms. At most 10,000 lines, stored as one posting: all of them, or none. Faults
        point to `#/lines/7/price`, by the number of the line in the file; an unknown label comes back with
        what is near it and is never guessed. What is missing in the list stays as it was posted.

        A dry run answers 200 whatever the lines say, with what each would change against the newest list.
        Stored or not, a price that is far off what others are paid is told with what holds it: it waits.
        """
        account = caller(request)
        author = account.handle if account else ""
        given = asked.given(yard)
        rows = LISTS.read(await request.body(), request.content_type[0])
        lines = [line_of(row) for row in rows]
        if asked.dry_run:
            idempotency_key(request)
            return json_answer(ListCompared.of(given, await lists.compare(author, given, lines), None))

        async def work() -> Response[ListCompared]:
            found = await lists.compare(author, given, lines)
            checked = found.prices()
            async with database.write() as session:
                stored = await postings.post(session, author, given, checked)
            headers = {"Location": f"/v1/postings/{stored.row.id}"}
            return json_answer(ListCompared.of(given, found, stored), status=201, headers=headers)

        return await once(request, database, clock(), work)

    @get(
        operation_id="export_list",
        summary="A yard's list of any day",
        dependencies=query(ListQuery),
        opt={"media": MEDIA},
        response_headers=[field_told("Known-At", "The revision that it is known at.")],
    )
    async def export(
        self,
        request: AnyRequest,
        yard: YardPath,
        lists: NamedDependency[ListService],
        clock: NamedDependency[Clock],
        asked: NamedDependency[ListQuery],
    ) -> Response[bytes]:
        """For each grade and from-weight the newest price, as posted, in the form in which a list is
        uploaded: uploaded again for the same day, each line is the same.

        Left out is what waits, was withdrawn or rejected or is too old to count on the day, and grades that
        the yard does not take.
        """
        media = _media(request, asked)
        on = asked.on or clock().date()
        found = await lists.of(yard, on, asked.known_at)
        body = (LISTS.write_csv if media == CSV else LISTS.write_lines)(exported(found))
        name = f"{found.yard.slug}-{on.isoformat()}.{'csv' if media == CSV else 'jsonl'}"
        headers = {
            "Known-At": str(found.revision),
            "Content-Disposition": f'attachment; filename="{name}"',
            "Vary": "Accept",
        }
        return Response(body, media_type=media, headers=headers)


def _media(request: AnyRequest, asked: ListQuery) -> str:
    """By what was asked for in the query, else by what the client takes."""
    accept = ",".join(request.headers.getall("accept", []))
    offers = MEDIA if asked.format is None else (CSV,) if asked.format == "csv" else LINES
    found = preferred(accept, [media for media in offers if admits(accept, media)] or offers)
    if not admits(accept, found):
        kinds = ", ".join(offers)
        detail = f"The list is {kinds} (faults: application/problem+json); accept one of them."
        errors = [ProblemError(detail=f"does not admit {kinds}", header="Accept")]
        raise RequestRefused("not-acceptable", detail, errors=errors)
    return found
