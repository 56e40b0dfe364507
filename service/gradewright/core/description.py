"""What a rulebook says of one description: worked out once, the same for every part that is described so."""

from __future__ import annotations

from dataclasses import dataclass

from gradewright.core.grading import Graded, Grader, Outcome, Reading
from gradewright.core.house_limits import HouseLimit
from gradewright.core.observations import Observed, Value
from gradewright.core.rulebook import Caution, Preparation


@dataclass(frozen=True, slots=True, eq=False)
class Step:
    """A preparation that applies, and the grade that the part has after it."""

    preparation: Preparation
    grade: str


@dataclass(frozen=True, slots=True, eq=False)
class Description:
    """Typed observations with their outcome; compared by identity, as there is one per description.

    `house`: the limits of the place that it was graded for on which the outcome rests.
    """

    observed: Observed
    reading: Reading
    outcome: Outcome
    grade: str | None
    cautions: tuple[Caution, ...]
    steps: tuple[Step, ...]
    house: tuple[HouseLimit, ...] = ()

    def because(self, reason: str) -> str:
        """A rulebook's reason for the outcome, with what is otherwise in the place than it says."""
        return " ".join((reason, *(limit.sentence for limit in self.house)))


def describe(grader: Grader, observed: Observed) -> Description:
    """The outcome, the cautions, and the preparations that lead from the grade to another one."""
    reading = grader.read(observed)
    outcome = grader.outcome(reading)
    grade = outcome.grade if isinstance(outcome, Graded) else None
    steps = _steps(grader, observed, reading, grade) if grade is not None else ()
    return Description(observed, reading, outcome, grade, grader.cautions(reading, grade), steps)


def _steps(grader: Grader, observed: Observed, reading: Reading, grade: str) -> tuple[Step, ...]:
    after = (
        (preparation, grader.grade(prepared(observed, preparation)))
        for preparation in grader.preparations(reading)
    )
    return tuple(
        Step(preparation, outcome.grade)
        for preparation, outcome in after
        if isinstance(outcome, Graded) and outcome.grade != grade
    )


def prepared(observed: Observed, preparation: Preparation) -> dict[str, Value]:
    """The observations after the work; what it makes unknown is left out."""
    after = {name: value for name, value in observed.items() if name not in preparation.changes}
    after.update((name, value) for name, value in preparation.changes.items() if value is not None)
    return after
