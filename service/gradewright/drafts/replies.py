"""What the operations on drafts have in common: who asks, how a draft is answered, what stale means."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from litestar import Request, Response

from gradewright.accounts.guards import caller
from gradewright.clock import Clock
from gradewright.drafts import texts
from gradewright.drafts.draft import Draft, Saying, Stale, Taken, since
from gradewright.drafts.schemas import DraftTaken, DraftWhole
from gradewright.rulebooks.source import Document
from gradewright.web.conditions import etag, if_match, is_known
from gradewright.web.problems import ProblemError, RequestRefused
from gradewright.web.responses import json_answer

Asking = Request[Any, Any, Any]


def known_tags(request: Asking) -> tuple[str, ...]:
    """The steps that If-Match names: what a tag says beyond number and hash is the form of the answer."""
    return tuple("-".join(tag.split("-")[:2]) for tag in if_match(request))


def saying(request: Asking, clock: Clock, why: str, tags: tuple[str, ...] | None) -> Saying:
    """Who takes a step, why, and after which steps they may; None: it is the first."""
    account = caller(request)
    return Saying(account.handle if account else "", clock(), why, tags)


def taken_answer(taken: Taken, *, status: int, **headers: str) -> Response[DraftTaken]:
    """A draft after a step."""
    told = {"ETag": etag(taken.draft.tag), **headers}
    return json_answer(DraftTaken.by(taken), status=status, headers=told)


def as_read(
    request: Asking,
    draft: Draft,
    document: Document,
    written: str | None,
    published: str | None,
    media: str,
) -> Response[DraftWhole]:
    """A whole draft in one of its forms; each has an ETag of its own (RFC 9110, 8.8.3.3). `written`: the
    document as somebody wrote it in YAML."""
    is_yaml = media in texts.YAML
    form = "-yaml" if is_yaml else "" if published is None else f"-{published.replace(' ', '-')}"
    tag = f"{draft.tag}{form}"
    headers = {"ETag": etag(tag), "Vary": "Accept", "Cache-Control": "private, no-cache"}
    empty: Any = b""
    if is_known(request, tag):
        return Response(empty, status_code=304, headers=headers)
    if not is_yaml:
        return json_answer(DraftWhole.whole(draft, document, published), headers=headers)
    headers["Content-Disposition"] = f'attachment; filename="{draft.name}.yaml"'
    body: Any = texts.to_yaml(document, draft.name, draft.tag, written).encode()
    return Response(body, media_type=f"{media}; charset=utf-8", headers=headers)


@contextmanager
def telling_what_changed() -> Iterator[None]:
    """Makes of a stale step a 412 with the ETag of now, and what was done since by whom."""
    try:
        yield
    except Stale as error:
        errors = [ProblemError(detail=line, header="If-Match") for line in since(error)] or [
            ProblemError(detail=f"now it is {etag(error.draft.tag)}", header="If-Match")
        ]
        headers = {"ETag": etag(error.draft.tag)}
        raise RequestRefused("precondition-failed", error.detail, errors=errors, headers=headers) from None
