"""The wire form of what a check of a draft finds."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date
from typing import Annotated

from pydantic import Field

from gradewright.drafts.checking import Checked
from gradewright.drafts.draft import Draft
from gradewright.drafts.schemas import AnyObject, EndingOut
from gradewright.web.fields import Out
from gradewright.web.problems import pointer_to


class FaultOut(Out):
    """What keeps a draft from being published, and where in its document.

    `line`: in the document as it was written, where that was YAML; else null. `part`: the smallest
    description that shows it, fit to be an example; null where there is none to show.
    """

    detail: str
    pointer: str
    place: str
    line: int | None
    part: AnyObject | None


class PairOut(Out):
    """Two rules of different grades that such a part meets both: the first decides, by its order alone."""

    first: str
    second: str
    first_grade: str
    second_grade: str
    part: AnyObject


class CheckOut(Out):
    """What was found: `sound` where nothing keeps the draft from being published today.

    `proved`: whether the solver has looked at it, which it does where the document can be read and no fault
    is seen in its rules at once; `pairs` are the rules whose order decides then. Its faults come last:
    where it is false, more may be found once those that are told are mended. `ended_by`: the version that is
    published already and ends this one, which whoever approves the draft has to name. `says`: what to know of
    the faults as a whole: of those that the version has too on which the draft builds, and the way out.
    """

    id: str
    step: int
    sha256: str
    on: Annotated[date, Field(description="The day for which it was checked.")]
    sound: bool
    says: str | None
    faults: list[FaultOut]
    notes: list[str]
    ended_by: EndingOut | None
    proved: bool
    pairs: list[PairOut]

    @classmethod
    def of(cls, draft: Draft, found: Checked, on: date) -> CheckOut:
        """The wire form of what was found."""
        faults = [
            FaultOut(
                detail=flaw.fault.detail,
                pointer=pointer_to(flaw.fault.at),
                place=flaw.place,
                line=flaw.line,
                part=None if flaw.part is None else dict(flaw.part),
            )
            for flaw in found.flaws
        ]
        return cls(
            id=draft.name,
            step=draft.last.number,
            sha256=found.sha256,
            on=on,
            sound=not faults,
            says=found.says,
            faults=faults,
            notes=list(found.notes),
            ended_by=EndingOut.of(found.ending),
            proved=found.proved is not None,
            pairs=[PairOut(**asdict(pair)) for pair in (found.proved.pairs if found.proved else ())],
        )
