"""The wire forms of drafts."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from gradewright.drafts.changes import Change
from gradewright.drafts.draft import Draft, New, Taken, name_of, tag_of
from gradewright.drafts.ending import Ending
from gradewright.drafts.life import LEADS_TO, State, Step
from gradewright.drafts.models import DraftRow, StepRow
from gradewright.rulebooks.shape_fields import VERSION
from gradewright.web.conditions import etag
from gradewright.web.fields import Day, In, Instant, Out, TextForm, whole_number
from gradewright.web.pagination import CursorText
from gradewright.web.problems import pointer_to

MOST_CHANGES = 200
AnyObject = dict[str, Any]
Why = Annotated[
    str,
    TextForm(
        r"^[^\x00-\x20\x7f]([^\x00-\x08\x0b-\x1f\x7f]*[^\x00-\x20\x7f])?$",
        says="why, in your words, at most 2000 characters",
        example="The circular of June names drained compressors apart.",
        longest=2000,
    ),
]
Summary = Annotated[
    str,
    TextForm(
        r"^[^\x00-\x20\x7f]([^\x00-\x08\x0b-\x1f\x7f]*[^\x00-\x20\x7f])?$",
        says="what the version changes, for those who sell by it, at most 2000 characters",
        example="Drained compressors have a grade of their own.",
        longest=2000,
    ),
]
VersionName = Annotated[
    str, TextForm(VERSION, says="the name of a version: a year, a point, a number", example="2027.1")
]
DraftName = Annotated[
    str, TextForm(r"^d-[1-9][0-9]{0,14}$", says="the name of a draft", example="d-7", longest=17)
]
WhyParameter = Annotated[Why, Field(description="Why, in your words. It is kept with the step for good.")]
BaseParameter = Annotated[
    VersionName | None,
    Field(
        description="The published version whose changes the document has in it, where that is not the one "
        "it was made from."
    ),
]


class DraftIn(In):
    """What to make a draft of: one of the three."""

    from_: Annotated[
        VersionName | None, Field(alias="from", description="A published version, such as 2026.2.")
    ] = None
    draft: Annotated[DraftName | None, Field(description="Another draft, as it stands now.")] = None
    document: Annotated[AnyObject | None, Field(description="A whole rulebook document.")] = None

    @model_validator(mode="after")
    def _one(self) -> DraftIn:
        given = [self.from_, self.draft, self.document]
        if sum(one is not None for one in given) != 1:
            raise ValueError('name what to make it of: one of "from", "draft" and "document"')
        return self


class MakingQuery(In):
    """Why; and what the draft says in place of what it is made of."""

    why: WhyParameter
    version: Annotated[VersionName | None, Field(description="The draft's own version.")] = None
    effective_from: Annotated[Day | None, Field(description="The day from which it is to be in force.")] = (
        None
    )
    base: BaseParameter = None
    summary: Annotated[Summary | None, Field(description="What the draft's version changes.")] = None

    def new(self, body: DraftIn, written: str | None = None) -> New:
        """What to make; `written`: the document as YAML."""
        made_of = body.from_, body.draft, body.document
        return New(*made_of, self.version, self.effective_from, self.base, self.summary, written)


class EditQuery(In):
    """Why; and on which version it builds now."""

    why: WhyParameter
    base: BaseParameter = None


class WhyIn(In):
    """Why a step is taken."""

    why: Why


class ApprovalIn(WhyIn):
    """Why a draft is approved; and what ends its version, where a later one is published already."""

    ended_by: Annotated[
        VersionName | None,
        Field(
            description="The published version of which the check says that it ends this one: that it is "
            "meant to. Without it, or with another one, such a draft is not approved."
        ),
    ] = None


class DraftQuery(In):
    """Which drafts."""

    state: Annotated[
        Literal["draft", "submitted", "published", "withdrawn"] | None,
        Field(description="Only those that stand there."),
    ] = None
    limit: whole_number(1, 200) = 50  # type: ignore[valid-type]
    cursor: CursorText | None = None


class OneDraftQuery(In):
    """After which step, in which form."""

    step: Annotated[
        whole_number(1, 99_999) | None,  # type: ignore[valid-type]
        Field(description="As it was after this step; without it, as it stands."),
    ] = None
    format: Annotated[
        Literal["json", "yaml"] | None,
        Field(description="The form of the answer; without it, what Accept prefers."),
    ] = None


class StepOut(Out):
    """A step: who took it, when, and why."""

    number: int
    step: Step
    by: str
    at: Instant
    why: str
    base: str | None
    sha256: Annotated[str, Field(description="Of the canonical form of the document after the step.")]
    etag: Annotated[str, Field(description="What the ETag was after the step.")]

    @classmethod
    def of(cls, row: StepRow, **more: Any) -> Any:
        """The wire form of a row."""
        return cls(
            number=row.number,
            step=Step(row.step),
            by=row.author,
            at=row.taken_at,
            why=row.why,
            base=row.base,
            sha256=row.sha256,
            etag=etag(tag_of(row)),
            **more,
        )


class ChangeOut(Out):
    """One place that a step changed: `before` and `after` are JSON, cut where it is long."""

    change: Literal["added", "removed", "changed", "reordered"]
    pointer: Annotated[str, Field(description="Into the later document; of what was removed, the earlier.")]
    place: str
    before: str | None
    after: str | None

    @classmethod
    def all(cls, found: tuple[Change, ...]) -> list[ChangeOut]:
        """The wire form of the first of them."""
        return [
            cls(
                change=one.change,  # type: ignore[arg-type]  # one of the four words that changes() tells
                pointer=pointer_to(one.at),
                place=one.place,
                before=one.before,
                after=one.after,
            )
            for one in found[:MOST_CHANGES]
        ]


class EndingOut(Out):
    """The published version that begins after the draft's own, and ends it on that day.

    `changed` counts the places that the draft changes and that version has otherwise, by their text: what is
    gone then, and `changes` has the first 200. Null where it is not known on which version the draft builds.
    """

    version: str
    effective_from: Day
    detail: str
    changed: int | None
    changes: list[ChangeOut] | None

    @classmethod
    def of(cls, ending: Ending | None) -> EndingOut | None:
        """The wire form; None where nothing ends it."""
        if ending is None:
            return None
        lost = ending.lost
        return cls(
            version=ending.version,
            effective_from=ending.effective_from,
            detail=ending.told(),
            changed=None if lost is None else len(lost),
            changes=None if lost is None else ChangeOut.all(lost),
        )


class StepChanges(StepOut):
    """A step and what it changed, place by place: the first 200; `changed` counts all."""

    changed: int
    changes: list[ChangeOut]

    @classmethod
    def after(cls, row: StepRow, found: tuple[Change, ...]) -> StepChanges:
        """The wire form of a step that changed this."""
        made: StepChanges = cls.of(row, changed=len(found), changes=ChangeOut.all(found))
        return made


class MadeFrom(Out):
    """What a draft was made from: a published version, or another draft after one of its steps."""

    version: str | None
    draft: str | None
    step: int | None


class DraftOut(Out):
    """A draft in short; `version`, `effective_from` and `title` are as its document has them."""

    id: str
    state: State
    version: str | None
    effective_from: str | None
    title: str | None
    base: str | None
    sha256: str
    step: int
    etag: Annotated[str, Field(description="What If-Match takes.")]
    made_from: MadeFrom | None
    made_by: str
    made_at: Instant
    changed_by: str
    changed_at: Instant

    @classmethod
    def of(cls, row: DraftRow, first: StepRow, last: StepRow, **more: Any) -> Any:
        """The wire form of a draft by its first and its last step."""
        source = None
        if row.from_version is not None or row.from_draft is not None:
            draft = None if row.from_draft is None else name_of(row.from_draft)
            source = MadeFrom(version=row.from_version, draft=draft, step=row.from_step)
        return cls(
            id=name_of(row.number),
            state=LEADS_TO[Step(last.step)],
            version=last.version,
            effective_from=last.effective_from,
            title=last.title,
            base=last.base,
            sha256=last.sha256,
            step=last.number,
            etag=etag(tag_of(last)),
            made_from=source,
            made_by=first.author,
            made_at=first.taken_at,
            changed_by=last.author,
            changed_at=last.taken_at,
            **more,
        )


class DraftList(Out):
    """Drafts, the newest first."""

    drafts: list[DraftOut]
    next: str | None

    @classmethod
    def of(cls, rows: Iterable[tuple[DraftRow, StepRow, StepRow]], cursor: str | None) -> DraftList:
        """The wire form of a page."""
        return cls(drafts=[DraftOut.of(*row) for row in rows], next=cursor)


class DraftTaken(DraftOut):
    """A draft after a step, in short, and the step with what it changed: null where it would have changed
    nothing, and was not taken. `notes`: what else to know about it; `ended_by`: the version that is published
    already and ends this one, of which the approval says that it is meant so.
    """

    taken: StepChanges | None
    notes: list[str]
    ended_by: EndingOut | None

    @classmethod
    def by(cls, taken: Taken) -> DraftTaken:
        """The wire form of a step that was taken."""
        draft = taken.draft
        last = StepChanges.after(draft.last, taken.changes) if taken.new else None
        told = {"notes": list(taken.notes), "ended_by": EndingOut.of(taken.ending)}
        made: DraftTaken = cls.of(draft.row, draft.steps[0], draft.last, taken=last, **told)
        return made


class DraftWhole(DraftOut):
    """A draft with its whole document and its steps; `published`: where its version stands, once it is."""

    published: Literal["to come", "in force", "superseded"] | None
    steps: list[StepOut]
    document: AnyObject

    @classmethod
    def whole(cls, draft: Draft, document: AnyObject, published: Any) -> DraftWhole:
        """The wire form of a draft."""
        steps = [StepOut.of(step) for step in draft.steps]
        made: DraftWhole = cls.of(
            draft.row, draft.steps[0], draft.last, published=published, steps=steps, document=document
        )
        return made
