"""Proof that a version can be relied on: every part that can be described gets one answer.

By the solver, over all parts: what is found comes with the smallest description that shows it, in the words
of the rulebook, and what is not found is not there. A description that an example marks `ungraded` has an
answer too: that no grade takes it. Rules are tried in order, so no part gets two answers; where the order
decides between two grades, the pair is listed.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Literal

import z3

from gradewright.core.errors import Path
from gradewright.core.grading import Grader, Ungraded
from gradewright.core.house_limits import HouseLimit, under
from gradewright.core.observations import Kind as Asked
from gradewright.core.observations import Value, read_observations
from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks import check
from gradewright.rulebooks.advice import ADD_A_RULE, MOVE_IT_UP, NAME_IT, THERE_ALONE
from gradewright.rulebooks.boxes import Answers, Box
from gradewright.rulebooks.comparison_words import ranges
from gradewright.rulebooks.given import Writing
from gradewright.rulebooks.proof_clauses import never_held
from gradewright.rulebooks.proof_order import Overlap, never_decides, overlaps
from gradewright.rulebooks.proof_work import leading_nowhere
from gradewright.rulebooks.smallest import Smallest
from gradewright.rulebooks.solving import Formula, Part, Parts, Side, Written, every_when

PROVER = "8"
"""The way of proving: a change of what is looked for, or of how it is told, is a new one."""
MOST_HOLES = 12

Kind = Literal["no-answer", "never-decides", "never-reached", "never-holds", "leads-nowhere", "wrong"]
Progress = Callable[[str, int, int], None]
Limits = Sequence[HouseLimit]
Known = tuple[str, Path, str]
"""Kind, place and sentence of a finding."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that keeps a version from being relied on, or that is good to know.

    `part`: the smallest description that shows it, as an example writes one; None where there is no part to
    show. `alike`: for its attributes the other values that show the same; `ranges`: all that do, in words.
    `within`: the place under whose own limits it is so; None: under the version's. `fault`: False for what is
    idle in a place alone.
    """

    kind: Kind
    says: str
    at: Path
    part: Mapping[str, Written] | None = None
    alike: Mapping[str, Sequence[Written]] | None = None
    within: str | None = None
    fault: bool = True
    ranges: Mapping[str, str] | None = None


@dataclass(frozen=True, slots=True)
class InPlace:
    """What was found under limits of a place alone, without the place; `complete`: whether that is all."""

    findings: Sequence[Finding]
    complete: bool = True


@dataclass(frozen=True, slots=True)
class Proof:
    """What was found; `complete`: whether all that there is of it is told."""

    version: str
    sha256: str
    findings: Sequence[Finding]
    overlaps: Sequence[Overlap]
    complete: bool = True

    @property
    def sound(self) -> bool:
        """Whether no fault was found, under its own limits and those of places. Overlaps are none."""
        return not any(finding.fault for finding in self.findings)


def prove(rulebook: Rulebook, houses: Sequence[Limits] = (), progress: Progress | None = None) -> Proof:
    """The proof of a version, under its own limits and under each set of limits that places have instead.

    Takes seconds of one processor: not to be called where others wait. `progress` is told what is looked at,
    how far it is, and how much there is.
    """
    tell = progress or _quiet
    wrong = check.wrong_examples(Grader(rulebook))
    findings = [Finding("wrong", fault.detail, fault.at) for fault in wrong]
    own, complete = found(rulebook, tell)
    findings += own
    for number, limits in enumerate(houses):
        there = in_place(rulebook, limits, known_of(own), of_place(tell, number, len(houses)))
        within, begins = where(rulebook, limits)
        findings += [replace(each, within=within, says=begins + each.says) for each in there.findings]
        complete = complete and there.complete
    prover = _Prover(rulebook)
    listed = overlaps(prover.side, prover.smallest, partial(tell, "pairs of rules"))
    return Proof(rulebook.version, rulebook.sha256, findings, listed, complete)


class _Prover:
    """A version in the solver."""

    def __init__(self, rulebook: Rulebook) -> None:
        self.rulebook = rulebook
        self.parts = Parts(rulebook.attributes, every_when(rulebook))
        self.side = Side(self.parts, rulebook)
        self.smallest = Smallest(self.parts)
        self.answers = Answers(self.side)
        self.writing = Writing(self.parts, rulebook)
        self.by_eye = [
            name for name, each in rulebook.attributes.items() if each.kind in (Asked.CHOICE, Asked.YES_NO)
        ]
        self._meant = [
            {name: {self.parts.cell(name, value)} for name, value in example.part.items()}
            for example in rulebook.examples
            if example.ungraded
        ]

    def around(self, cells: Mapping[str, int]) -> Box:
        """The parts that are answered like one that is."""
        if self.answers.decided(cells) is None:
            for meant in self._meant:
                if all(cells[name] in own for name, own in meant.items()):
                    return self.answers.within(cells, meant)
        return self.answers.alike(cells)

    def unanswered(self) -> Formula:
        """That a part meets no rule, and that no example says that this is meant."""
        meant = (
            self.parts.all_of(self.parts.within(name, value) for name, value in example.part.items())
            for example in self.rulebook.examples
            if example.ungraded
        )
        return z3.And(self.side.none_decides, z3.Not(self.parts.any_of(meant)))


def _quiet(what: str, done: int, of: int) -> None:
    """Progress that nobody is told."""


def found(rulebook: Rulebook, tell: Progress = _quiet) -> tuple[list[Finding], bool]:
    """What is wrong with the rules, without the examples and the order; and whether that is all there is."""
    prover = _Prover(rulebook)
    dead = list(never_decides(prover.side, prover.smallest, prover.answers, partial(tell, "rules")))
    findings = [Finding("never-decides", says, ("rules", number), part) for number, says, part in dead]
    findings += _never_reached(rulebook, {number for number, _, _ in dead})
    held = never_held(prover.side, partial(tell, "conditions"))
    findings += [Finding("never-holds", says, at) for says, at in held]
    nowhere = leading_nowhere(prover.side, prover.smallest, partial(tell, "preparations"))
    findings += [Finding("leads-nowhere", says, at, part) for says, at, part in nowhere]
    holes = list(_holes(prover, tell))
    return findings + holes[:MOST_HOLES], len(holes) <= MOST_HOLES


def _never_reached(rulebook: Rulebook, dead: set[int]) -> Iterator[Finding]:
    for slug, grade in rulebook.grades.items():
        rules = [number for number, rule in enumerate(rulebook.rules) if rule.grade == slug]
        if grade.by_name_only or not dead.issuperset(rules):
            continue
        ids = ", ".join(rulebook.rules[number].id for number in rules)
        why = f"none of its rules ever decides ({ids})" if rules else "it has no rule"
        yield Finding(
            "never-reached", f"grade {slug}: no part gets it: {why}.{NAME_IT}",
            ("grades", slug),
        )  # fmt: skip


def _holes(prover: _Prover, tell: Progress) -> Iterator[Finding]:
    """Parts without an answer: smallest descriptions, each with what else shows the same."""
    parts = prover.parts
    open_ones = prover.unanswered()
    counter = z3.And(prover.side.can_be, z3.Not(open_ones))
    for number in range(MOST_HOLES + 1):
        tell("parts without an answer", number, MOST_HOLES)
        solver = parts.solver(open_ones)
        if solver.check() == z3.unsat:
            return
        part = prover.smallest.showing(open_ones, counter, prover.around, rather=prover.by_eye)
        if part is None:  # it takes more observations than the search goes to
            part = prover.smallest.within(solver.model(), counter)
        cube = prover.smallest.widened(part, open_ones, counter)
        open_ones = z3.And(open_ones, z3.Not(parts.one_of(cube)))
        yield _hole(parts, prover.writing, part, cube)


def _hole(parts: Parts, writing: Writing, part: Part, cube: Mapping[str, Sequence[Value]]) -> Finding:
    written = writing.part(part)
    others = {
        name: [writing.value(name, value) for value in values if value != part[name]]
        for name, values in cube.items()
    }
    along = {
        name: sorted(values, key=parts.axes[name].cells.index)
        for name, values in cube.items()
        if others[name]
    }
    told = ", ".join(f"{name}: {value}" for name, value in written.items())
    return Finding(
        "no-answer",
        f"a part of which this is known gets no grade: {told}.{ADD_A_RULE}",
        ("rules",), written, {name: values for name, values in others.items() if values},
        ranges=ranges(parts.axes, parts.attributes, along, writing.given),
    )  # fmt: skip


def known_of(findings: Sequence[Finding]) -> frozenset[Known]:
    """What findings are told apart by."""
    return frozenset((finding.kind, tuple(finding.at), finding.says) for finding in findings)


def of_place(tell: Progress, number: int, count: int) -> Progress:
    """Tells what is looked at under one of so many sets of limits, as `tell` is told of a version's own."""

    def there(what: str, done: int, of: int) -> None:
        tell(f"limits of places, {number + 1} of {count}: {what}", done, of)

    return there


def in_place(
    rulebook: Rulebook, limits: Limits, known: Collection[Known], tell: Progress = _quiet
) -> InPlace:
    """What is so under a place's own limits, and not under the version's: `known` is what is so there.

    The same for all places that have these limits. Takes some seconds.
    """
    here, kept = under(rulebook, limits)
    if not kept:
        return InPlace(())
    usual = Grader(rulebook)
    told, complete = found(here, tell)
    own = [
        replace(finding, fault=_breaks(finding), says=_there(finding))
        for finding in told
        if (finding.kind, finding.at, finding.says) not in known and not _open_anyway(usual, finding)
    ]
    return InPlace(own, complete)


def where(rulebook: Rulebook, limits: Limits) -> tuple[str, str]:
    """The place of the first of the limits that the version has; and what a sentence about it begins with."""
    _, kept = under(rulebook, limits)
    within = next((limit.within for limit in kept.values()), "")
    given = ", ".join(f"{limit.name} {limit.given}" for limit in kept.values())
    return within, f"{within[:1].upper()}{within[1:]} ({given}), "


def _breaks(finding: Finding) -> bool:
    """Whether what is found in a place leaves someone there without an answer, or without a warning.

    Rules, grades and descriptions that come to nothing there do not: a place that draws a line elsewhere
    often means just that, as where all thick steel is heavy.
    """
    return finding.kind in ("no-answer", "leads-nowhere") or finding.at[0] == "cautions"


def _there(finding: Finding) -> str:
    """What is found in a place, with what to do about it there."""
    says = finding.says.removesuffix(MOVE_IT_UP).removesuffix(NAME_IT)
    return f"{says} {THERE_ALONE}" if _breaks(finding) else says


def _open_anyway(usual: Grader, finding: Finding) -> bool:
    """Whether a part without an answer, and all told as the same, has none under the version either."""
    if finding.kind != "no-answer" or finding.part is None:
        return False
    alike = finding.alike or {}
    described = [
        finding.part,
        *({**finding.part, name: value} for name, values in alike.items() for value in values),
    ]
    attributes = usual.rulebook.attributes
    return all(isinstance(usual.grade(read_observations(attributes, each)), Ungraded) for each in described)
