"""Benchmarks: what markets quote, with which prices age."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

import gradewright_sdk as results
from gradewright_sdk import _wire
from gradewright_sdk._base import Answer, AsyncResource, Call, Resource, asynchronous, new_key, sync
from gradewright_sdk._content import FileContent, file_content
from gradewright_sdk._reading import reads, reads_list

if TYPE_CHECKING:
    from gradewright_sdk._models import Benchmark, BenchmarkFile, BenchmarkImport, BenchmarkValues

MEDIA = {"csv": "text/csv", "jsonl": "application/x-ndjson"}


def list_benchmarks(*, timeout: float | None = None) -> Call[tuple[Benchmark, ...]]:
    """All benchmarks, by name, each with its first and its last value."""
    read = reads_list(lambda: results.Benchmark, "benchmarks")
    return Call("GET", _wire.path("benchmarks"), read, timeout=timeout)


def get_benchmark(
    benchmark: str,
    *,
    from_: date | str | None = None,
    to: date | str | None = None,
    known_at: int | datetime | str | None = None,
    timeout: float | None = None,
) -> Call[BenchmarkValues]:
    """A benchmark and its values of a span (all), as known at a revision or an instant (now). Raises
    UnknownBenchmark.
    """
    return Call(
        "GET",
        _wire.path("benchmarks", benchmark),
        reads(lambda: results.BenchmarkValues),
        query=_span(from_, to, known_at),
        timeout=timeout,
    )


def benchmark_csv(
    benchmark: str,
    *,
    from_: date | str | None = None,
    to: date | str | None = None,
    known_at: int | datetime | str | None = None,
    timeout: float | None = None,
) -> Call[BenchmarkFile]:
    """The same as a CSV file, in the form in which values are added."""
    return Call(
        "GET",
        _wire.path("benchmarks", benchmark),
        _read_file,
        query=(*_span(from_, to, known_at), ("format", "csv")),
        accept="text/csv, application/problem+json;q=0.1",
        timeout=timeout,
    )


def create_benchmark(
    slug: str,
    *,
    name: str,
    source: str,
    currency: str | None = None,
    unit: str | None = None,
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[Benchmark]:
    """Make a benchmark (maintainers), without values yet: in a currency per a mass unit, or an index without
    either. Grades follow it by its `slug`. `source` says where its values are from, and under which terms.
    Raises Conflict if the slug is taken.
    """
    body = {"slug": slug, "name": name, "currency": currency, "unit": unit, "source": source}
    return Call(
        "POST",
        _wire.path("benchmarks"),
        reads(lambda: results.Benchmark),
        body=body,
        writes=True,
        idempotency_key=new_key(idempotency_key),
        timeout=timeout,
    )


def add_values(
    benchmark: str,
    lines: FileContent,
    *,
    dry_run: bool = False,
    far_off: bool = False,
    name: str | None = None,
    source: str | None = None,
    currency: str | None = None,
    unit: str | None = None,
    format: str | None = None,
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[BenchmarkImport]:
    """Add values to a benchmark (maintainers), or with `dry_run` see what a file would change.

    `lines` is a file of CSV or JSON Lines, as a `Path`, open, or what stands in it (`format` csv or jsonl;
    None: by how it begins), with the columns date and value, and perhaps currency and unit. All lines are
    stored or none; what has the same value already changes nothing. `far_off`: values half as much again as a
    neighbour are meant.
    With `name` and `source` (and `currency` and `unit`) the benchmark is made first, with its values or not
    at all; Conflict is raised if there is one.
    Raises UnknownBenchmark, or InvalidRequest with every fault; its pointer #/lines/7/value has the number of
    the line.
    """
    content = file_content(lines)
    if format is None:
        format = "jsonl" if content.removeprefix(b"\xef\xbb\xbf").lstrip()[:1] == b"{" else "csv"
    if format not in MEDIA:
        raise ValueError(f"values are written as {' or '.join(MEDIA)}, not as {format!r}")
    asked = _wire.query(dry_run="true" if dry_run else None, far_off="true" if far_off else None)
    asked = (*asked, *_wire.query(name=name, source=source, currency=currency, unit=unit))
    return Call(
        "POST",
        _wire.path("benchmarks", benchmark, "values"),
        reads(lambda: results.BenchmarkImport),
        query=asked,
        body=content,
        content_type=MEDIA[format],
        writes=not dry_run,
        idempotency_key=None if dry_run else new_key(idempotency_key),
        timeout=timeout,
    )


def _span(
    from_: date | str | None, to: date | str | None, known_at: int | datetime | str | None
) -> _wire.Query:
    return _wire.query(
        from_=None if from_ is None else _wire.day_text(from_, "from_"),
        to=None if to is None else _wire.day_text(to, "to"),
        known_at=None if known_at is None else _wire.known_at_wire(known_at),
    )


def _read_file(answer: Answer) -> BenchmarkFile:
    from gradewright_sdk._models import read_file

    return read_file(results.BenchmarkFile, answer)


class Benchmarks(Resource):
    """Benchmarks: what markets quote, with which prices age."""

    list = sync(list_benchmarks)
    get = sync(get_benchmark)
    csv = sync(benchmark_csv)
    create = sync(create_benchmark)
    add_values = sync(add_values)


class AsyncBenchmarks(AsyncResource):
    """Benchmarks: what markets quote, with which prices age."""

    list = asynchronous(list_benchmarks)
    get = asynchronous(get_benchmark)
    csv = asynchronous(benchmark_csv)
    create = asynchronous(create_benchmark)
    add_values = asynchronous(add_values)
