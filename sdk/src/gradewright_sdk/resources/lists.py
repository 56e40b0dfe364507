"""Whole lists of a yard, as files."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING

import gradewright_sdk as results
from gradewright_sdk import _wire
from gradewright_sdk._base import Answer, AsyncResource, Call, Resource, asynchronous, new_key, sync
from gradewright_sdk._content import FileContent, file_content
from gradewright_sdk._inputs import PriceSeen, as_mapping
from gradewright_sdk._reading import reads

if TYPE_CHECKING:
    from gradewright_sdk._models import ListCompared, ListFile

MEDIA = {"csv": "text/csv", "jsonl": "application/x-ndjson"}
Lines = Sequence[PriceSeen | Mapping[str, object]]


def upload_list(
    yard: str,
    lines: FileContent | Lines,
    *,
    observed_on: date | str,
    evidence: str,
    note: str | None = None,
    dry_run: bool = False,
    format: str | None = None,
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[ListCompared]:
    """Post a yard's whole list (members), or with `dry_run` see what each line would change.

    `lines` is a file of CSV or JSON Lines, as a `Path`, open, or what stands in it (`format` csv or jsonl;
    None: by how it begins), or prices one by one, of which a mapping may leave out currency and per: then the
    yard's terms hold. All lines are stored or none. Raises InvalidRequest or UnknownGrade with every fault;
    its pointer #/lines/7/price has the number of the line.
    """
    content, media = _content(lines, format)
    query = _wire.query(
        observed_on=_wire.day_text(observed_on, "observed_on"),
        evidence=evidence,
        note=note,
        dry_run="true" if dry_run else None,
    )
    return Call(
        "POST",
        _wire.path("yards", yard, "lists"),
        reads(lambda: results.ListCompared),
        query=query,
        body=content,
        content_type=media,
        writes=not dry_run,
        idempotency_key=None if dry_run else new_key(idempotency_key),
        timeout=timeout,
    )


def export_list(
    yard: str,
    *,
    on: date | str | None = None,
    known_at: int | datetime | str | None = None,
    format: str = "csv",
    timeout: float | None = None,
) -> Call[ListFile]:
    """A yard's list on a day (today), as known at a revision or an instant (now): the newest price of each
    grade and from-weight, as posted, as a CSV or JSON Lines (`format` csv or jsonl) file to upload again.
    """
    media = _media(format)
    query = _wire.query(
        on=None if on is None else _wire.day_text(on, "on"),
        known_at=None if known_at is None else _wire.known_at_wire(known_at),
        format=format,
    )
    return Call(
        "GET",
        _wire.path("yards", yard, "lists"),
        _read_file,
        query=query,
        accept=f"{media}, application/problem+json;q=0.1",
        timeout=timeout,
    )


def _media(format: str) -> str:
    if format not in MEDIA:
        raise ValueError(f"a list is written as {' or '.join(MEDIA)}, not as {format!r}")
    return MEDIA[format]


def _content(lines: FileContent | Lines, format: str | None) -> tuple[bytes, str]:
    if not isinstance(lines, Sequence) or isinstance(lines, bytes | str):
        content = file_content(lines)
    else:
        wire = [_wire.with_amounts(as_mapping(one), "lines") for one in lines]
        content = "".join(json.dumps(one, ensure_ascii=False) + "\n" for one in wire).encode()
        format = "jsonl"
    if format is None:
        format = "jsonl" if content.removeprefix(b"\xef\xbb\xbf").lstrip()[:1] == b"{" else "csv"
    return content, _media(format)


def _read_file(answer: Answer) -> ListFile:
    from gradewright_sdk._models import read_file

    return read_file(results.ListFile, answer)


class Lists(Resource):
    """Whole lists of a yard, as files."""

    upload = sync(upload_list)
    export = sync(export_list)


class AsyncLists(AsyncResource):
    """Whole lists of a yard, as files."""

    upload = asynchronous(upload_list)
    export = asynchronous(export_list)
