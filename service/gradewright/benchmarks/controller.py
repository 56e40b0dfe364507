"""Operations on benchmarks."""

from __future__ import annotations

from functools import partial
from typing import Annotated, Any

from litestar import Controller, Request, Response, get, post
from litestar.di import NamedDependency
from litestar.openapi.datastructures import ResponseSpec
from litestar.params import JSONBody, Parameter

from gradewright.accounts.guards import caller, maintainer
from gradewright.accounts.once import once
from gradewright.benchmarks.importing import Import
from gradewright.benchmarks.schemas import (
    VALUES,
    BenchmarkIn,
    BenchmarkList,
    BenchmarkOut,
    BenchmarkQuery,
    BenchmarkValues,
    Imported,
    ImportQuery,
    line_of,
)
from gradewright.benchmarks.service import BenchmarkService
from gradewright.clock import Clock
from gradewright.core.benchmarks import curve
from gradewright.db.knowing import revision_of
from gradewright.db.session import Database
from gradewright.web.formats import chosen
from gradewright.web.idempotency import WRITES, idempotency_key
from gradewright.web.requests import query
from gradewright.web.responses import field_told, json_answer
from gradewright.web.tables import CSV, LINES

JSON = "application/json"
FORMATS = {"json": JSON, "csv": CSV}
MOST_BYTES = 2 * 1024 * 1024
EXAMPLES = {
    CSV: "date,value\n2026-04-30,9380.00\n2026-05-04,9412.50\n",
    **dict.fromkeys(LINES, '{"date":"2026-04-30","value":"9380.00"}\n'),
}
DRY = {200: ResponseSpec(data_container=Imported, description="Nothing stored", generate_examples=False)}
SlugPath = Annotated[str, Parameter(description="The slug of a benchmark, such as copper.")]
AnyRequest = Request[Any, Any, Any]


class BenchmarkController(Controller):
    """What markets quote, with which prices age."""

    path = "/v1/benchmarks"
    tags = ["benchmarks"]  # noqa: RUF012 - read by the framework

    @get(operation_id="list_benchmarks", summary="All benchmarks")
    async def listed(self, benchmarks: NamedDependency[BenchmarkService]) -> BenchmarkList:
        """Every benchmark by name, with its first and its last value."""
        known = await benchmarks.all()
        told = [BenchmarkOut.of(known.by_slug[slug], known.curve(slug)) for slug in sorted(known.by_slug)]
        return BenchmarkList(benchmarks=told)

    @post(
        operation_id="add_benchmark",
        summary="Add a benchmark",
        guards=[maintainer],
        opt=WRITES,
        response_headers=[field_told("Location", "The benchmark's own address.")],
    )
    async def add(
        self,
        request: AnyRequest,
        data: JSONBody[BenchmarkIn],
        benchmarks: NamedDependency[BenchmarkService],
        database: NamedDependency[Database],
        clock: NamedDependency[Clock],
    ) -> Response[BenchmarkOut]:
        """Adds a benchmark for good, without values yet. Grades follow it by its slug: the rulebook says
        which do, and how much of its moves their prices pass on.
        """
        account = caller(request)
        author = account.handle if account else None

        async def work() -> Response[BenchmarkOut]:
            async with database.write() as session:
                made = await benchmarks.add(session, data.benchmark(), clock(), author)
            answer = BenchmarkOut.of(made, curve(made.slug, ()))
            return json_answer(answer, status=201, headers={"Location": f"/v1/benchmarks/{made.slug}"})

        return await once(request, database, clock(), work)

    @get(
        "/{benchmark:str}",
        operation_id="get_benchmark",
        summary="A benchmark and its values",
        dependencies=query(BenchmarkQuery),
        opt={"media": (CSV,)},
        response_headers=[field_told("Known-At", "The revision that it is known at.")],
    )
    async def one(
        self,
        request: AnyRequest,
        benchmark: SlugPath,
        benchmarks: NamedDependency[BenchmarkService],
        database: NamedDependency[Database],
        asked: NamedDependency[BenchmarkQuery],
    ) -> Response[BenchmarkValues]:
        """Its values of a span, as JSON, or as CSV in the form in which they are imported."""
        media = chosen(request, asked.format, FORMATS)
        revision = await revision_of(database, asked.known_at)
        known = await benchmarks.all()
        found = known.get(benchmark, revision)
        told = BenchmarkValues.within(found, known.curve(found.slug, revision), asked, revision)
        headers = {"Known-At": str(revision), "Vary": "Accept"}
        if media == JSON:
            return json_answer(told, headers=headers)
        body: Any = VALUES.write_csv(told.rows())
        headers["Content-Disposition"] = f'attachment; filename="{found.slug}.csv"'
        return Response(body, media_type=CSV, headers=headers)

    @post(
        "/{benchmark:str}/values",
        operation_id="import_benchmark_values",
        summary="Add values to a benchmark",
        dependencies=query(ImportQuery),
        guards=[maintainer],
        opt={**WRITES, "takes": EXAMPLES},
        request_max_body_size=MOST_BYTES,
        responses=DRY,
    )
    async def take(
        self,
        request: AnyRequest,
        benchmark: SlugPath,
        benchmarks: NamedDependency[BenchmarkService],
        database: NamedDependency[Database],
        clock: NamedDependency[Clock],
        asked: NamedDependency[ImportQuery],
    ) -> Response[Imported]:
        """Takes CSV, whose first line names the columns, or JSON Lines with the same names: `date`, `value`,
        and perhaps `currency` and `unit`, which have to be the benchmark's. At most 10,000 lines: all of
        them, or none. A day that has a value already gets another one for good: what was known before stays
        known. The same value again changes nothing, so a whole file can be sent again with what is new.

        With `name` and `source` (and `currency` and `unit`) the benchmark is made first: it is there with its
        values, or where anything is wrong not at all.

        200 where nothing was stored: a dry run, or a file in which nothing is new.
        """
        account = caller(request)
        author = account.handle if account else None
        rows = VALUES.read(await request.body(), request.content_type[0])
        lines, far_off = [line_of(row) for row in rows], bool(asked.far_off)
        new = asked.new(benchmark)

        async def compared() -> Import:
            return await benchmarks.compare(benchmark, lines, clock(), far_off=far_off, new=new)

        told = partial(Imported.of, benchmark, made=new is not None)
        if asked.dry_run:
            idempotency_key(request)
            return json_answer(told(await compared(), dry_run=True, revision=None))

        async def work() -> Response[Imported]:
            async with database.write() as session:
                found = await compared()
                changes = found.checked()
                if new is not None:
                    await benchmarks.add(session, new, clock(), author)
                taken = await benchmarks.record(session, benchmark, changes, clock(), author)
            answer = told(found, dry_run=False, revision=taken.number if taken else None)
            return json_answer(answer, status=201 if taken else 200)

        return await once(request, database, clock(), work)
