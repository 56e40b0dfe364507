"""Drafts of rulebook versions, the steps taken with them, and what a check finds."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from pydantic import Field

from ._common import Result, Whole


class DraftChange(Result):
    """One place that a step changed: `added`, `removed`, `changed` or `reordered`; both sides as JSON."""

    change: str
    pointer: str
    place: str = ""
    before: str | None = None
    after: str | None = None


class DraftStep(Whole):
    """A step: who took it, when and why; `etag` names the draft after it.

    `changed` counts the places that it changed, `changes` has the first 200; both are told of one step alone.
    """

    number: int
    step: str
    by: str
    at: datetime
    why: str
    base: str | None = None
    sha256: str
    etag: str
    changed: int = 0
    changes: tuple[DraftChange, ...] = ()


class DraftSource(Result):
    """What a draft was made from: a published version, or another draft after one of its steps."""

    version: str | None = None
    draft: str | None = None
    step: int | None = None


class Draft(Whole):
    """A draft in short. `version`, `effective_from` and `title` are as its document has them, sound or not.

    `state` is draft, submitted, published or withdrawn; `etag` is what the next write takes; `base` the
    published version whose changes it has in it.
    """

    id: str
    state: str
    version: str | None = None
    effective_from: str | None = None
    title: str | None = None
    base: str | None = None
    sha256: str
    step: int
    etag: str
    made_from: DraftSource | None = None
    made_by: str
    made_at: datetime
    changed_by: str
    changed_at: datetime


class DraftEnding(Result):
    """The published version that begins after the draft's own and ends it on that day; `detail` says it.

    `changed` counts the places that the draft changes and that version has otherwise, by their text: what is
    gone then, `changes` has the first 200. None where it is not known on which version the draft builds.
    """

    version: str
    effective_from: date
    detail: str = ""
    changed: int | None = None
    changes: tuple[DraftChange, ...] | None = None


class DraftTaken(Draft):
    """A draft after a step, in short, the step with what it changed, and what else to know about it.

    `taken` is None where the step would have changed nothing, and was not taken. `ended_by`: the version that
    ends this one, which an approval has to name; None where none is published.
    """

    taken: DraftStep | None = None
    notes: tuple[str, ...] = ()
    ended_by: DraftEnding | None = None


class WholeDraft(Draft):
    """A draft with its whole document and its steps; `published` is where its version stands: to come, in
    force, superseded.
    """

    published: str | None = None
    steps: tuple[DraftStep, ...] = ()
    document: dict[str, Any] = Field(default_factory=dict)


class DraftFault(Result):
    """What keeps a draft from being published, and where; `line`: in the YAML that it was written as, if it
    was; `part`: the smallest that shows it, if any."""

    detail: str
    pointer: str
    place: str = ""
    line: int | None = None
    part: dict[str, Any] | None = None


class RulePair(Result):
    """Two rules of different grades that such a part meets both: the first decides, by its order alone."""

    first: str
    second: str
    first_grade: str
    second_grade: str
    part: dict[str, Any] = Field(default_factory=dict)


class DraftCheck(Whole):
    """What keeps a draft from being published on a day. `proved`: whether the solver has looked at it;
    `ended_by`: the version that ends this one, which an approval has to name; None where none is published;
    `says`: what to know of the faults as a whole, before the first.
    """

    id: str
    step: int
    sha256: str
    on: date
    sound: bool
    says: str | None = None
    faults: tuple[DraftFault, ...] = ()
    notes: tuple[str, ...] = ()
    ended_by: DraftEnding | None = None
    proved: bool = False
    pairs: tuple[RulePair, ...] = ()


class RulebookFinding(Result):
    """What the proof of a version has found, and where; `part`: the smallest that shows it, if any; `within`:
    where alone it is so, by limits of a place, in words; None: under the version's own. What is no `fault`
    is good to know.

    `kind` is no-answer, never-decides, never-reached, never-holds, leads-nowhere or wrong (an example).
    `alike` has by attribute the other values that show the same with the rest of `part` as it stands,
    `ranges` all that do, in words.
    """

    kind: str = ""
    detail: str
    pointer: str
    place: str = ""
    part: dict[str, Any] | None = None
    alike: dict[str, tuple[Any, ...]] = Field(default_factory=dict)
    ranges: dict[str, str] = Field(default_factory=dict)
    within: str | None = None
    fault: bool = True


class RulebookProof(Whole):
    """Whether a version can be relied on, by a solver over every part that can be described, under its own
    limits and those of all places: `sound` where nothing was found that keeps it from that. `complete`:
    whether the findings are all there is; `pairs`: the rules whose order decides between two grades.

    The limits of places are those known at `revision` of the ledger: of `places` places, in `limits` sets.
    """

    version: str
    sha256: str
    sound: bool
    complete: bool = True
    revision: int | None = None
    places: int | None = None
    limits: int | None = None
    findings: tuple[RulebookFinding, ...] = ()
    pairs: tuple[RulePair, ...] = ()


@dataclass(frozen=True, slots=True)
class DraftFile:
    """A draft's document as YAML, to edit and to send back with its `etag`."""

    content: bytes
    etag: str

    @property
    def text(self) -> str:
        """The same as text."""
        return self.content.decode("utf-8")
