"""How answers go out: the bytes that were hashed; what is kept of one is told beside it, in headers."""

from __future__ import annotations

import base64
from collections.abc import Awaitable, Callable, Mapping
from typing import Any

from litestar import Request, Response
from litestar.datastructures import ResponseHeader
from litestar.enums import MediaType
from litestar.openapi.datastructures import ResponseSpec

from gradewright.accounts.once import once
from gradewright.answers.keeping import Keeping, Kept, Kind
from gradewright.answers.pins import Answer
from gradewright.web.fields import Out
from gradewright.web.idempotency import idempotency_key

LEDGER_SIZE = "Ledger-Size"
LEDGER_ROOT = "Ledger-Root"
LOCATION = ResponseHeader(name="Location", documentation_only=True, description="Where it is kept.")


def id_header(kind: Kind) -> str:
    """The header that tells a kept answer's id, such as Valuation-Id."""
    return f"{kind.noun.capitalize()}-Id"


def kept_headers(kind: Kind) -> list[ResponseHeader]:
    """The headers of a kept answer, as they are described."""
    return [
        ResponseHeader(
            name=id_header(kind), documentation_only=True, description=f"The id of the kept {kind.noun}."
        ),
        ResponseHeader(
            name=LEDGER_SIZE,
            documentation_only=True,
            description="How many entries the ledger had at the revision of the pins.",
        ),
        ResponseHeader(
            name=LEDGER_ROOT,
            documentation_only=True,
            description="The root of the tree over those entries, as base64: see /v1/ledger/checkpoint.",
        ),
    ]


def described(kind: Kind, form: type[Out], *statuses: int) -> dict[int, ResponseSpec]:
    """The answers of an operation on one kind: 200 for the answer, 201 for one that was kept."""
    says = {200: f"The {kind.noun}", 201: f"The {kind.noun}, kept"}
    return {
        status: ResponseSpec(data_container=form, description=says[status], generate_examples=False)
        for status in statuses
    }


def reply(kept: Kept, kind: Kind, *, status: int = 200) -> Response[bytes]:
    """A kept answer. Where it is older than the ledger's tree, nothing is told of that."""
    headers = {id_header(kind): kept.id}
    if kept.tree_size is not None and kept.tree_root is not None:
        root = base64.b64encode(kept.tree_root).decode()
        headers |= {LEDGER_SIZE: str(kept.tree_size), LEDGER_ROOT: root}
    if status == 201:
        headers["Location"] = f"{kind.path}/{kept.id}"
    return Response(kept.body, status_code=status, media_type=MediaType.JSON, headers=headers)


async def answered(
    request: Request[Any, Any, Any],
    keeping: Keeping[Any],
    work: Callable[[], Awaitable[Answer]],
    asked: Callable[[Answer], Mapping[str, Any]] | None,
    **beside: Any,
) -> Response[bytes]:
    """The answer of `work`; kept, once, where `asked` says what it was asked, with its pins in it."""
    if asked is None:
        idempotency_key(request)  # one that cannot be is refused all the same
        return Response((await work()).body, media_type=MediaType.JSON)

    async def kept() -> Response[bytes]:
        answer = await work()
        return reply(await keeping.keep(asked(answer), answer, **beside), keeping.kind, status=201)

    return await once(request, keeping.database, keeping.clock(), kept)
