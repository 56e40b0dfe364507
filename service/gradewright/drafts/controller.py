"""Operations on drafts: make, read, edit."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Annotated, Any

from litestar import Controller, Request, Response, get, patch, post, put
from litestar.di import NamedDependency
from litestar.openapi.datastructures import ResponseSpec
from litestar.params import Parameter

from gradewright.accounts.guards import maintainer
from gradewright.accounts.once import once
from gradewright.clock import Clock
from gradewright.db.session import Database
from gradewright.drafts import texts
from gradewright.drafts.draft import Saying, Taken
from gradewright.drafts.life import State
from gradewright.drafts.replies import as_read, known_tags, saying, taken_answer, telling_what_changed
from gradewright.drafts.schemas import (
    DraftIn,
    DraftList,
    DraftQuery,
    DraftTaken,
    DraftWhole,
    EditQuery,
    MakingQuery,
    OneDraftQuery,
    StepChanges,
)
from gradewright.drafts.service import DraftService
from gradewright.drafts.steps import MOST_BYTES
from gradewright.web.conditions import IF_MATCH, UNMET, conditional
from gradewright.web.formats import chosen
from gradewright.web.idempotency import WRITES
from gradewright.web.pagination import LARGEST, decode_cursor, encode_cursor, next_link
from gradewright.web.requests import query
from gradewright.web.responses import field_told, json_answer

JSON = "application/json"
MERGE_PATCH = "application/merge-patch+json"
FORMATS = {"json": JSON, "yaml": texts.YAML[0]}
AN_OBJECT = {"type": "object"}
ETAG = field_told("ETag", "What If-Match takes.")
SHORT = {"version": "2027.1", "effective_from": "2027-01-01", "title": "…"}
AS_YAML = dict.fromkeys(texts.YAML, SHORT)
EDITS = {**WRITES, "headers": IF_MATCH, "problems": UNMET}
DraftPath = Annotated[str, Parameter(description="The name of a draft, such as d-7.")]
Asking = Request[Any, Any, Any]


class DraftController(Controller):
    """Versions of the rulebook while they are being written."""

    path = "/v1/rulebook-drafts"
    tags = ["drafts"]  # noqa: RUF012 - read by the framework

    @get(
        operation_id="list_rulebook_drafts",
        summary="Drafts",
        guards=[maintainer],
        dependencies=query(DraftQuery),
        response_headers=[field_told("Link", "The next page (RFC 8288).")],
    )
    async def listed(
        self,
        request: Asking,
        drafts: NamedDependency[DraftService],
        asked: NamedDependency[DraftQuery],
    ) -> Response[DraftList]:
        """Drafts, the newest first, page by page; withdrawn and published ones too."""
        before = decode_cursor(asked.cursor, 1)[0] if asked.cursor else LARGEST
        state = None if asked.state is None else State(asked.state)
        found = await drafts.newest(state, before=before, limit=asked.limit + 1)
        page = found[: asked.limit]
        cursor = encode_cursor(page[-1][0].number) if len(found) > len(page) else None
        return json_answer(DraftList.of(page, cursor), headers=next_link(request, cursor))

    @post(
        operation_id="make_rulebook_draft",
        summary="Make a draft",
        guards=[maintainer],
        dependencies=query(MakingQuery),
        opt={
            **WRITES,
            "takes": {JSON: {"from": "2026.2"}, **AS_YAML},
            "bodies": {JSON: DraftIn, **dict.fromkeys(texts.YAML, AN_OBJECT)},
        },
        request_max_body_size=MOST_BYTES,
        response_headers=[ETAG, field_told("Location", "The draft's own address.")],
    )
    async def make(
        self,
        request: Asking,
        drafts: NamedDependency[DraftService],
        database: NamedDependency[Database],
        clock: NamedDependency[Clock],
        asked: NamedDependency[MakingQuery],
    ) -> Response[DraftTaken]:
        """Makes a draft of a published version, of another draft, or of a whole document: within the JSON, or
        as YAML. A draft may be unsound for as long as it is written: its check tells the faults.
        """
        body, media = await request.body(), request.content_type[0].lower()
        if media in texts.YAML:
            document, written = texts.read(body, media)
            given = DraftIn(document=document)
        else:
            given, written = DraftIn.model_validate(texts.as_document(texts.from_json(body))), None
        new, by = asked.new(given, written), saying(request, clock, asked.why, None)

        async def work() -> Response[DraftTaken]:
            made = await drafts.make(new, by)
            return taken_answer(made, status=201, Location=f"/v1/rulebook-drafts/{made.draft.name}")

        return await once(request, database, clock(), work)

    @get(
        "/{draft:str}",
        operation_id="get_rulebook_draft",
        summary="A draft",
        guards=[maintainer],
        dependencies=query(OneDraftQuery),
        opt={"media": (texts.YAML[0],), "media_schemas": {texts.YAML[0]: AN_OBJECT}},
        responses={
            304: ResponseSpec(
                data_container=None,
                description="If-None-Match names it: there already",
                generate_examples=False,
            )
        },
        response_headers=[ETAG],
    )
    async def one(
        self,
        request: Asking,
        draft: DraftPath,
        drafts: NamedDependency[DraftService],
        clock: NamedDependency[Clock],
        asked: NamedDependency[OneDraftQuery],
    ) -> Response[DraftWhole]:
        """The whole document with everything that was done with the draft, or as YAML the document alone: a
        file to edit and to send back. What was written as YAML keeps its comments, until it is edited in
        another way.
        """
        media = chosen(request, asked.format, FORMATS)
        found = await drafts.get(draft, asked.step)
        published = await drafts.published(found, clock().date())
        written = await drafts.written(found) if media in texts.YAML else None
        return as_read(request, found, await drafts.document(found), written, published, media)

    @get(
        "/{draft:str}/steps/{step:str}",
        operation_id="get_rulebook_draft_step",
        summary="A step of a draft",
        guards=[maintainer],
    )
    async def step(
        self,
        draft: DraftPath,
        step: Annotated[str, Parameter(description="The number of the step, from 1.")],
        drafts: NamedDependency[DraftService],
    ) -> StepChanges:
        """Who took the step, when and why, and what it changed, place by place. The first is held against
        what the draft was made from.
        """
        found = await drafts.at(draft, step)
        return StepChanges.after(found.last, await drafts.changes(found))

    @patch(
        "/{draft:str}",
        operation_id="change_rulebook_draft",
        summary="Change a draft",
        guards=[maintainer, conditional],
        dependencies=query(EditQuery),
        opt={
            **EDITS,
            "takes": {MERGE_PATCH: {"limits": {"heavy_steel_thickness": {"value": "6.5 mm"}}}},
            "bodies": {MERGE_PATCH: AN_OBJECT},
        },
        request_max_body_size=MOST_BYTES,
        response_headers=[ETAG],
    )
    async def change(
        self,
        request: Asking,
        draft: DraftPath,
        drafts: NamedDependency[DraftService],
        database: NamedDependency[Database],
        clock: NamedDependency[Clock],
        asked: NamedDependency[EditQuery],
    ) -> Response[DraftTaken]:
        """Changes the document by a merge patch (RFC 7396): what is named is replaced, null takes it out, and
        what is not named stays. Lists (`rules`, `impossible`, `examples`) are replaced whole. Where nothing
        would change, no step is taken.
        """
        found = texts.as_document(texts.from_json(await request.body()))
        by = saying(request, clock, asked.why, known_tags(request))
        return await _edited(request, database, clock, by, lambda: drafts.patch(draft, by, found, asked.base))

    @put(
        "/{draft:str}",
        operation_id="replace_rulebook_draft",
        summary="Replace a draft's document",
        guards=[maintainer, conditional],
        dependencies=query(EditQuery),
        opt={
            **EDITS,
            "takes": {JSON: SHORT, **AS_YAML},
            "bodies": dict.fromkeys((JSON, *texts.YAML), AN_OBJECT),
        },
        request_max_body_size=MOST_BYTES,
        response_headers=[ETAG],
    )
    async def replace(
        self,
        request: Asking,
        draft: DraftPath,
        drafts: NamedDependency[DraftService],
        database: NamedDependency[Database],
        clock: NamedDependency[Clock],
        asked: NamedDependency[EditQuery],
    ) -> Response[DraftTaken]:
        """Gives the draft another document, whole: as JSON, or as the YAML that reading it has given. Where
        nothing would change, not even a comment in the YAML, no step is taken.
        """
        found, written = texts.read(await request.body(), request.content_type[0])
        by = saying(request, clock, asked.why, known_tags(request))
        return await _edited(
            request, database, clock, by, lambda: drafts.edit(draft, by, found, asked.base, written)
        )


async def _edited(
    request: Asking, database: Database, clock: Clock, by: Saying, edit: Callable[[], Awaitable[Taken]]
) -> Response[DraftTaken]:
    async def work() -> Response[DraftTaken]:
        return taken_answer(await edit(), status=200)

    with telling_what_changed():
        return await once(request, database, clock(), work)
