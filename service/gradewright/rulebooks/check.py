"""Whether a rulebook does what it says: its worked examples, its kin, and that everything in it matters."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from gradewright.core.errors import Fault, Path
from gradewright.core.grading import Contradiction, Graded, Grader, Outcome, Undecided, Ungraded
from gradewright.core.rulebook import Example, Rulebook
from gradewright.rulebooks.needless import needless
from gradewright.rulebooks.reach import idle, unreached
from gradewright.rulebooks.told_only import about_others

SETTLING_ASKED_AFTER = date(2026, 7, 1)
"""Versions that begin later say what would settle a disputed rule; older ones cannot change any more."""


def check(rulebook: Rulebook) -> tuple[Fault, ...]:
    """All that keeps the rulebook from being relied on, each with its place; empty if it is sound."""
    grader = Grader(rulebook)
    index = grader.index
    return (
        *wrong_examples(grader),
        *_circles(rulebook),
        *_not_given(rulebook),
        *_unsettled(rulebook),
        *unreached(rulebook, index),
        *idle(rulebook, index),
        *about_others(rulebook, index),
        *needless(rulebook),
    )


def wrong_examples(grader: Grader) -> list[Fault]:
    """The worked examples that a rulebook does not do as they say, each at its place."""
    return [
        Fault(f"{one.example}: {one.asked} is expected; {answer(one.outcome)}", one.at)
        for one in differing(grader)
    ]


@dataclass(frozen=True, slots=True)
class Differing:
    """A worked example, told with its part, what it asks for, and what comes of it instead."""

    at: Path
    example: str
    asked: str
    outcome: Outcome


def differing(grader: Grader) -> Iterator[Differing]:
    """The worked examples that a rulebook does not do as they say."""
    book = grader.rulebook
    for n, example in enumerate(book.examples):
        outcome = grader.grade(example.part)
        asked = _differs(example, outcome)
        if asked is not None:
            told = f"example {n + 1} ({_told(book, example)})"
            yield Differing(("examples", n), told, asked, outcome)


def _told(rulebook: Rulebook, example: Example) -> str:
    """The part of an example, as its maintainer wrote it."""
    shown = (
        f"{name}: {example.written.get(name) or rulebook.attributes[name].show(value)}"
        for name, value in example.part.items()
    )
    return ", ".join(shown)


def answer(outcome: Outcome) -> str:
    """An outcome in a few words, as what is found."""
    what, by = in_short(outcome)
    return f"{what} is found{by}"


def in_short(outcome: Outcome) -> tuple[str, str]:
    """What an outcome is, and what it is by; to be put together in a sentence."""
    if isinstance(outcome, Graded):
        return outcome.grade, f", by rule {outcome.rule.id}"
    if isinstance(outcome, Undecided):
        none = " or no grade" if outcome.may_be_ungraded else ""
        return f"undecided between {', '.join(outcome.candidates)}{none}", ""
    if isinstance(outcome, Contradiction):
        return f"a contradiction ({', '.join(entry.id for entry in outcome.impossible)})", ""
    return "no grade", ": no rule holds"


def _differs(example: Example, outcome: Outcome) -> str | None:
    """What an example asks for where that is not what comes of it."""
    if example.grade is not None:
        right = isinstance(outcome, Graded) and outcome.grade == example.grade
        asked = example.grade
    elif example.candidates:
        right = isinstance(outcome, Undecided) and set(outcome.candidates) == set(example.candidates)
        asked = f"undecided between {', '.join(example.candidates)}"
    elif example.contradiction is not None:
        right = isinstance(outcome, Contradiction) and example.contradiction in {
            e.id for e in outcome.impossible
        }
        asked = f"a contradiction ({example.contradiction})"
    else:
        right = example.ungraded and isinstance(outcome, Ungraded)
        asked = "no grade" if example.ungraded else "an answer, and the example names none"
    return None if right else asked


def _circles(rulebook: Rulebook) -> list[Fault]:
    faults = []
    for slug, grade in rulebook.grades.items():
        seen, kin = {slug}, grade.kin
        while kin is not None and kin not in seen:
            seen.add(kin)
            kin = rulebook.grades[kin].kin
        if kin == slug:
            faults.append(
                Fault(f"grade {slug}: priced as itself, through {', '.join(sorted(seen))}", ("grades", slug))
            )
    return faults


def _not_given(rulebook: Rulebook) -> list[Fault]:
    given = {rule.grade for rule in rulebook.rules}
    return [
        Fault(f"grade {slug}: no rule gives it: add one, or mark it by_name_only", ("grades", slug))
        for slug, grade in rulebook.grades.items()
        if slug not in given and not grade.by_name_only
    ]


def _unsettled(rulebook: Rulebook) -> list[Fault]:
    if rulebook.effective_from <= SETTLING_ASKED_AFTER:
        return []
    return [
        Fault(
            f"rule {rule.id}: it is disputed, and nothing says what would settle it: add `settled_by`",
            ("rules", n),
        )
        for n, rule in enumerate(rulebook.rules)
        if rule.confidence == "disputed" and rule.settled_by is None
    ]
