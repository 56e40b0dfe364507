"""Drafts of rulebook versions, for maintainers: written, checked, submitted, approved by a second."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

import gradewright_sdk as results
from gradewright_sdk import _wire
from gradewright_sdk._base import (
    Answer,
    AsyncResource,
    Call,
    Page,
    Pages,
    Resource,
    asynchronous,
    asynchronous_pages,
    new_key,
    sync,
    sync_pages,
)
from gradewright_sdk._inputs import as_mapping
from gradewright_sdk._problems import parse_json, unexpected
from gradewright_sdk._reading import reads, reads_list
from gradewright_sdk._telling import Progress, reads_last, telling
from gradewright_sdk.resources._draft_steps import (
    PROVING,
    approve_draft,
    check_draft,
    compare_draft,
    refuse_draft,
    submit_draft,
    withdraw_draft,
)

if TYPE_CHECKING:
    from gradewright_sdk._inputs import Part
    from gradewright_sdk._models import (
        Draft,
        DraftFile,
        DraftImpact,
        DraftStep,
        DraftTaken,
        WholeDraft,
    )

YAML = "application/yaml"
MERGE_PATCH = "application/merge-patch+json"


def list_drafts(
    *, state: str | None = None, page_size: int | None = None, timeout: float | None = None
) -> Pages[Draft]:
    """All drafts, newest first, or those in a state: draft, submitted, published, withdrawn; pages are
    fetched as they are needed. `timeout` is per page.
    """

    def after(cursor: str | None) -> Call[Page[Draft]]:
        query = _wire.query(state=state, limit=page_size, cursor=cursor)
        return Call("GET", _wire.path("rulebook-drafts"), _read_page, query=query, timeout=timeout)

    return Pages(after)


def _read_page(answer: Answer) -> Page[Draft]:
    items = reads_list(lambda: results.Draft, "drafts")(answer)
    cursor = parse_json(answer).get("next")
    return Page(items, None if cursor is None else str(cursor))


def create_draft(
    *,
    why: str,
    from_: str | None = None,
    draft: str | None = None,
    document: Mapping[str, object] | str | bytes | None = None,
    version: str | None = None,
    effective_from: date | str | None = None,
    summary: str | None = None,
    base: str | None = None,
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[DraftTaken]:
    """Make a draft of one of three: a published version (`from_`), another `draft`, or a `document`, as a
    mapping or as YAML text.

    `version`, `effective_from` and `summary`, which says what the version changes, take the place of the
    document's own. `base` is the published version whose
    changes it has in it, where that is not the one it was made from. It may be unsound: `check` tells.
    """
    given = {"from": from_, "draft": draft, "document": document}
    if sum(one is not None for one in given.values()) != 1:
        raise ValueError("name what to make the draft of: one of from_, draft and document")
    if isinstance(document, str | bytes):
        body, media = _document(document)
    else:
        body, media = _exact({name: one for name, one in given.items() if one is not None}), _wire.JSON
    day = None if effective_from is None else _wire.day_text(effective_from, "effective_from")
    return Call(
        "POST",
        _wire.path("rulebook-drafts"),
        reads(lambda: results.DraftTaken),
        query=_wire.query(why=why, version=version, effective_from=day, base=base, summary=summary),
        body=body,
        content_type=media,
        writes=True,
        idempotency_key=new_key(idempotency_key),
        timeout=timeout,
    )


def get_draft(id: str, *, step: int | None = None, timeout: float | None = None) -> Call[WholeDraft]:
    """A draft with its whole document and all its steps, or as it was after a step. Raises NotFound."""
    query = _wire.query(step=step)
    path = _wire.path("rulebook-drafts", id)
    return Call("GET", path, reads(lambda: results.WholeDraft), query=query, timeout=timeout)


def draft_yaml(id: str, *, step: int | None = None, timeout: float | None = None) -> Call[DraftFile]:
    """The draft's document as YAML: a file to edit, and to send back with `replace` and its `etag`. What
    was written as YAML keeps its comments, until it is edited in another way.
    """
    return Call(
        "GET",
        _wire.path("rulebook-drafts", id),
        _read_file,
        query=_wire.query(step=step, format="yaml"),
        accept=f"{YAML}, application/problem+json;q=0.1",
        timeout=timeout,
    )


def _read_file(answer: Answer) -> DraftFile:
    etag = answer.headers.get("etag")
    if etag is None:
        raise unexpected(answer, "it does not say at which step the draft is")
    return results.DraftFile(answer.content, etag)


def draft_step(id: str, number: int, *, timeout: float | None = None) -> Call[DraftStep]:
    """A step of a draft, with what it changed, place by place. Raises NotFound."""
    path = _wire.path("rulebook-drafts", id, "steps", str(number))
    return Call("GET", path, reads(lambda: results.DraftStep), timeout=timeout)


def patch_draft(
    id: str,
    patch: Mapping[str, object],
    *,
    why: str,
    etag: str,
    base: str | None = None,
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[DraftTaken]:
    """Change the document by a merge patch (RFC 7396): None takes a name out, lists are replaced whole.

    `etag` is that of the draft as you have read it. Raises Stale, with what was done since, if it went on.
    """
    return _edit("PATCH", id, _exact(patch), MERGE_PATCH, why, etag, base, idempotency_key, timeout)


def replace_draft(
    id: str,
    document: Mapping[str, object] | str | bytes,
    *,
    why: str,
    etag: str,
    base: str | None = None,
    idempotency_key: str | None = None,
    timeout: float | None = None,
) -> Call[DraftTaken]:
    """Give the draft another document, as a mapping or as YAML text. `etag` and errors as with `patch`."""
    body, media = _document(document)
    return _edit("PUT", id, body, media, why, etag, base, idempotency_key, timeout)


def _edit(
    method: str,
    id: str,
    body: Any,
    media: str,
    why: str,
    etag: str,
    base: str | None,
    idempotency_key: str | None,
    timeout: float | None,
) -> Call[DraftTaken]:
    return Call(
        method,
        _wire.path("rulebook-drafts", id),
        reads(lambda: results.DraftTaken),
        query=_wire.query(why=why, base=base),
        body=body,
        content_type=media,
        if_match=etag,
        writes=True,
        idempotency_key=new_key(idempotency_key),
        timeout=timeout,
    )


def draft_impact(
    id: str,
    *,
    from_: date | str | None = None,
    to: date | str | None = None,
    against: str | None = None,
    parts: Sequence[Part | Mapping[str, object]] | None = None,
    region: str | None = None,
    yard: str | None = None,
    on: date | str | None = None,
    progress: Progress | None = None,
    timeout: float | None = PROVING,
) -> Call[DraftImpact]:
    """What the draft would change about the valuations kept from one day to another (the last 90 days), or
    about `parts` in a region or at a yard: both valued by the draft and by `against` (the version that it
    would supersede). Changes nothing. Raises UnsoundRulebook where the draft cannot be read as a rulebook.
    `progress` is told meanwhile how many valuations are done, of how many.
    """
    body: dict[str, object] = {
        "from": None if from_ is None else _wire.day_text(from_, "from_"),
        "to": None if to is None else _wire.day_text(to, "to"),
        "against": against,
    }
    if parts is not None:
        given = {"region": region, "yard": yard, "on": None if on is None else _wire.day_text(on, "on")}
        body["list"] = {
            **{name: value for name, value in given.items() if value is not None},
            "parts": _wire.to_wire([as_mapping(part) for part in parts], "parts"),
        }
    return Call(
        "POST",
        _wire.path("rulebook-drafts", id, "impact"),
        reads_last(lambda: results.DraftImpact, "impact"),
        body={name: value for name, value in body.items() if value is not None},
        timeout=timeout,
        **telling(progress),
    )


def _document(document: Mapping[str, object] | str | bytes) -> tuple[object, str]:
    """A document as it is sent, and its media type: text is YAML."""
    if isinstance(document, Mapping):
        return _exact(document), _wire.JSON
    return (document.encode() if isinstance(document, str) else document), YAML


def _exact(value: Mapping[str, object]) -> object:
    """A mapping as JSON takes it, with its None entries."""
    return _wire.to_wire(value, "the document", nulls=True)


class Drafts(Resource):
    """Drafts of rulebook versions, for maintainers."""

    list = sync_pages(list_drafts)
    create = sync(create_draft)
    get = sync(get_draft)
    yaml = sync(draft_yaml)
    step = sync(draft_step)
    patch = sync(patch_draft)
    replace = sync(replace_draft)
    check = sync(check_draft)
    compare = sync(compare_draft)
    impact = sync(draft_impact)
    submit = sync(submit_draft)
    approve = sync(approve_draft)
    refuse = sync(refuse_draft)
    withdraw = sync(withdraw_draft)


class AsyncDrafts(AsyncResource):
    """Drafts of rulebook versions, for maintainers."""

    list = asynchronous_pages(list_drafts)
    create = asynchronous(create_draft)
    get = asynchronous(get_draft)
    yaml = asynchronous(draft_yaml)
    step = asynchronous(draft_step)
    patch = asynchronous(patch_draft)
    replace = asynchronous(replace_draft)
    check = asynchronous(check_draft)
    compare = asynchronous(compare_draft)
    impact = asynchronous(draft_impact)
    submit = asynchronous(submit_draft)
    approve = asynchronous(approve_draft)
    refuse = asynchronous(refuse_draft)
    withdraw = asynchronous(withdraw_draft)
