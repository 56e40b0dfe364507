"""The shipped rulebook as in force on a day, and what it says of a part: for the checks of this folder."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from functools import cache
from pathlib import Path

import gradewright.rulebooks
from gradewright.core.description import Description, describe
from gradewright.core.grading import Contradiction, Graded, Grader, Undecided
from gradewright.core.observations import Observed, read_observations
from gradewright.core.rulebook import Rulebook
from gradewright.core.timeline import in_force
from gradewright.rulebooks.document import read_yaml
from gradewright.rulebooks.standing import that_begin

Part = Mapping[str, str | bool | int]

PUBLISHED = Path(gradewright.rulebooks.__file__).parent / "published"

# A day under each of three versions that ship, each of another edition of the circular: for what did not
# change from one to the next.
DAYS = ("2016-03-01", "2017-09-01", "2024-03-01")
TODAY = DAYS[-1]
UNDECIDED, CONTRADICTION, UNGRADED = "undecided: ", "contradiction: ", "ungraded"


@cache
def versions() -> tuple[Rulebook, ...]:
    """Every version that ships."""
    return tuple(read_yaml(path) for path in sorted(PUBLISHED.glob("*.yaml")))


@cache
def _grader(rulebook_version: str) -> Grader:
    return Grader(next(book for book in versions() if book.version == rulebook_version))


def on(day: str) -> Grader:
    """The grader of the version in force on a day."""
    rulebook = in_force(that_begin(versions()), date.fromisoformat(day))
    assert rulebook is not None, f"no version was in force on {day}"
    return _grader(rulebook.version)


@cache
def newest() -> Grader:
    """The grader of the newest version."""
    return Grader(read_yaml(max(PUBLISHED.glob("*.yaml"))))


def grade_by_newest(part: Observed) -> str | None:
    """What the newest version grades a part as; "!" for what cannot be."""
    outcome = newest().grade(part)
    if isinstance(outcome, Contradiction):
        return "!"
    return outcome.grade if isinstance(outcome, Graded) else None


def described(day: str, part: Part) -> Description:
    """A part as the version of the day describes it."""
    grader = on(day)
    return describe(grader, read_observations(grader.rulebook.attributes, part))


def answer(day: str, part: Part) -> str:
    """The grade of a part, or in a few words what else came out."""
    outcome = described(day, part).outcome
    if isinstance(outcome, Graded):
        return outcome.grade
    if isinstance(outcome, Undecided):
        return UNDECIDED + ", ".join(sorted(outcome.candidates))
    if isinstance(outcome, Contradiction):
        return CONTRADICTION + ", ".join(sorted(entry.id for entry in outcome.impossible))
    return UNGRADED


def cautions(part: Part, day: str = TODAY) -> frozenset[str]:
    """The cautions shown with a part."""
    return frozenset(caution.id for caution in described(day, part).cautions)
