"""The wire form of the proof of a published version."""

from __future__ import annotations

from dataclasses import asdict

from gradewright.drafts.check_schemas import PairOut
from gradewright.drafts.published import ProvedVersion
from gradewright.drafts.schemas import AnyObject
from gradewright.rulebooks.places import place
from gradewright.web.fields import Out
from gradewright.web.problems import pointer_to


class FindingOut(Out):
    """What was found, and where in the version's document. `part`: the smallest description that shows it;
    null where there is none to show. `within`: where alone it is so, by limits of a place, in words such as
    `at Low Quay`; null: under the version's own. `fault`: false for what is good to know, and no reason to
    doubt the version.
    """

    detail: str
    pointer: str
    place: str
    part: AnyObject | None
    within: str | None
    fault: bool


class ProofOut(Out):
    """What the solver has found, over every part that can be described, under the version's own limits and
    under those that places have while it is in force.

    `sound`: every such part gets one answer, every grade is reached or by name only, every rule decides about
    some part, every condition can hold, every example comes true; else `findings` says what does not.
    `complete`: whether those are all there is. `pairs`: the rules whose order decides between two grades.
    """

    version: str
    sha256: str
    sound: bool
    complete: bool
    findings: list[FindingOut]
    pairs: list[PairOut]

    @classmethod
    def of(cls, found: ProvedVersion) -> ProofOut:
        """The wire form."""
        findings = [
            FindingOut(
                detail=one.says,
                pointer=pointer_to(one.at),
                place=place(found.document, one.at),
                part=None if one.part is None else dict(one.part),
                within=one.within,
                fault=one.fault,
            )
            for one in found.proved.findings
        ]
        return cls(
            version=found.version,
            sha256=found.sha256,
            sound=not any(one.fault for one in findings),
            complete=found.proved.complete,
            findings=findings,
            pairs=[PairOut(**asdict(pair)) for pair in found.proved.pairs],
        )
