"""A draft as it is read: its steps so far, its document after any of them."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.core.errors import Fault, GradewrightError, NotFound
from gradewright.db.packed import unpack
from gradewright.drafts import repository
from gradewright.drafts.changes import Change
from gradewright.drafts.ending import Ending
from gradewright.drafts.life import DID, LEADS_TO, State, Step
from gradewright.drafts.models import DraftRow, StepRow
from gradewright.rulebooks.source import Document

_NAME = re.compile(r"d-([1-9][0-9]{0,14})", re.ASCII)


class Stale(GradewrightError):
    """The draft has gone on since the step that the caller names; `draft` is as it stands now."""

    slug = "precondition-failed"

    def __init__(self, detail: str, draft: Draft, since: tuple[StepRow, ...]) -> None:
        super().__init__(detail)
        self.draft = draft
        self.since = since


@dataclass(frozen=True, slots=True)
class Draft:
    """A draft with every step taken with it so far, or up to one of them."""

    row: DraftRow
    steps: tuple[StepRow, ...]

    @property
    def name(self) -> str:
        """What it is called: d-7."""
        return name_of(self.row.number)

    @property
    def last(self) -> StepRow:
        """Its newest step."""
        return self.steps[-1]

    @property
    def state(self) -> State:
        """Where it stands."""
        return LEADS_TO[Step(self.last.step)]

    @property
    def tag(self) -> str:
        """What names this step of it: other content, other tag."""
        return tag_of(self.last)


def since(stale: Stale) -> list[str]:
    """What was done with a draft since a step, a line each: who, when, which step, why."""
    return [
        f"{step.author} {DID.get(Step(step.step), step.step)} it at "
        f"{step.taken_at:%Y-%m-%dT%H:%M:%SZ} (step {step.number}): {step.why}"
        for step in stale.since
    ]


@dataclass(frozen=True, slots=True)
class New:
    """What a draft is to be made of: a published version, another draft, or a document.

    `version`, `effective_from` and `summary` take the place of the document's own. `base`: the published
    version whose changes a document has in it; of the others it is known. `text`: the document as it was
    written, where that is YAML.
    """

    version_of: str | None = None
    draft: str | None = None
    document: Document | None = None
    version: str | None = None
    effective_from: date | None = None
    base: str | None = None
    summary: str | None = None
    text: str | None = None

    def own(self) -> Document:
        """What takes the place of what the document says itself."""
        begins = None if self.effective_from is None else str(self.effective_from)
        own = {"version": self.version, "effective_from": begins, "summary": self.summary}
        return {name: value for name, value in own.items() if value is not None}


@dataclass(frozen=True, slots=True)
class Saying:
    """Who takes a step, when, and why; `tags`: the steps that they may have had before them, None for any.

    `ended_by`: the published version of which an approval says that it is meant to end this one.
    """

    author: str
    now: datetime
    why: str
    tags: tuple[str, ...] | None = None
    ended_by: str | None = None


@dataclass(frozen=True, slots=True)
class Taken:
    """A draft after a step, what the step changed, and what to know about it, and what ends its version.

    `new` is False where the step would have changed nothing, and was not taken.
    """

    draft: Draft
    changes: tuple[Change, ...] = ()
    notes: tuple[str, ...] = ()
    new: bool = True
    ending: Ending | None = None


def name_of(number: int) -> str:
    """What a draft of that number is called."""
    return f"d-{number}"


def tag_of(step: StepRow) -> str:
    """What names a step of one draft."""
    return f"{step.number}-{step.sha256[:12]}"


async def find(session: AsyncSession, name: str, step: int | None = None) -> Draft:
    match = _NAME.fullmatch(name)
    row = await repository.find(session, int(match[1])) if match else None
    if row is None:
        detail = f"There is no draft {name[:80]!r}. See /v1/rulebook-drafts."
        raise NotFound(detail, faults=(Fault(detail, ("draft",)),))
    steps = tuple(await repository.steps(session, row.number))
    for known in (row, *steps):
        session.expunge(known)  # what was read can be told too after the write has been given up
    if step is not None and not 1 <= step <= len(steps):
        detail = f"{name} has no step {step}; it has {len(steps)}."
        raise NotFound(detail, faults=(Fault(detail, ("step",)),))
    return Draft(row, steps[:step])


async def text_of(session: AsyncSession, draft: Draft) -> str | None:
    """The document as people wrote it, with its comments; None where it was not given as YAML."""
    packed = await repository.text_at(session, draft.row.number, draft.last.number)
    return None if packed is None else (await unpack(packed)).decode()


async def document_of(session: AsyncSession, draft: Draft) -> Document:
    packed = await repository.document_at(session, draft.row.number, draft.last.number)
    if packed is None:
        raise RuntimeError(f"{draft.name} has lost its document")
    found: Document = json.loads(await unpack(packed))
    return found
