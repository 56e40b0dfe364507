"""The wire form of the proof of a published version."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated, Literal, cast

from pydantic import Field

from gradewright.drafts.check_schemas import PairOut
from gradewright.drafts.published import ProvedVersion
from gradewright.drafts.schemas import AnyObject
from gradewright.rulebooks.places import place
from gradewright.web.fields import Out
from gradewright.web.problems import pointer_to

Kind = Literal["no-answer", "never-decides", "never-reached", "never-holds", "leads-nowhere", "wrong"]


class FindingOut(Out):
    """What was found, and where in the version's document. `part`: the smallest description that shows it;
    null where there is none to show. `alike`: by attribute the other values that show the same with the rest
    as it stands, and `ranges` all that do, in words. `within`: where alone it is so, by limits of a place, in
    words such as `at Low Quay`; null: under the version's own. `fault`: false for what is good to know, and
    no reason to doubt the version.
    """

    kind: Annotated[
        Kind,
        Field(
            description="A part that gets no answer, a rule that never decides, a grade that no part gets, a "
            "condition or value that no part can have there, work after which no part can be as described, "
            "an example that is answered otherwise."
        ),
    ]
    detail: str
    pointer: str
    place: str
    part: AnyObject | None
    alike: dict[str, list[str | bool | int]]
    ranges: dict[str, str]
    within: str | None
    fault: bool


class ProofOut(Out):
    """What the solver has found, over every part that can be described, under the version's own limits and
    under those that places have while it is in force.

    `sound`: every such part gets one answer, every grade is reached or by name only, every rule decides about
    some part, every condition can hold, every example comes true; else `findings` says what does not.
    `complete`: whether those are all there is. `pairs`: the rules whose order decides between two grades.
    The limits of places are those known at `revision` of the ledger: so many `places` have some of their own
    while the version is in force, in so many sets (`limits`) that differ. Where one says more of its limits,
    what is found may differ.
    """

    version: str
    sha256: str
    sound: bool
    complete: bool
    revision: int
    places: int
    limits: int
    findings: list[FindingOut]
    pairs: list[PairOut]

    @classmethod
    def of(cls, found: ProvedVersion) -> ProofOut:
        """The wire form."""
        findings = [
            FindingOut(
                kind=cast("Kind", one.kind),
                detail=one.says,
                pointer=pointer_to(one.at),
                place=place(found.document, one.at),
                part=None if one.part is None else dict(one.part),
                alike={name: list(values) for name, values in one.alike.items()},
                ranges=dict(one.ranges),
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
            revision=found.proved.houses.revision,
            places=found.proved.houses.places,
            limits=len(found.proved.houses.limits),
            findings=findings,
            pairs=[PairOut(**asdict(pair)) for pair in found.proved.pairs],
        )
