"""What a rulebook says of one description: worked out once, the same for every part that is described so."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from gradewright.core.concerns import Concerning
from gradewright.core.grading import Graded, Grader, Outcome, Reading
from gradewright.core.house_limits import HouseLimit
from gradewright.core.observations import Observed
from gradewright.core.routes import Routes, prepared, routes
from gradewright.core.rulebook import Caution, Preparation, Rule

NO_ROUTES = Routes()
BY_THE_PLACE = "house-rule"


@dataclass(frozen=True, slots=True, eq=False)
class Step:
    """A preparation that applies, and the grade that the part has after it."""

    preparation: Preparation
    grade: str


@dataclass(frozen=True, eq=False)
class Description:
    """Typed observations with their outcome; compared by identity, as there is one per description.

    `house`: the limits of the place that it was graded for on which the outcome rests. What work leads to is
    worked out when it is first asked for.
    """

    observed: Observed
    reading: Reading
    outcome: Outcome
    grade: str | None
    cautions: tuple[Caution, ...]
    grader: Grader = field(repr=False)
    house: tuple[HouseLimit, ...] = ()

    @cached_property
    def steps(self) -> tuple[Step, ...]:
        """The preparations that lead from the grade to another one by themselves: what method 1 looks at."""
        return _steps(self.grader, self.observed, self.reading, self.grade) if self.grade is not None else ()

    @cached_property
    def routes(self) -> Routes:
        """The sequences of preparations that can be done: what later methods look at."""
        return routes(self.grader, self.observed, self.grade) if self.grade is not None else NO_ROUTES

    @cached_property
    def concerning(self) -> Concerning:
        """The cautions, and those that what is not known can still bring; methods 1 and 2 tell `cautions`."""
        return self.grader.concerning(self.reading, self.grade)

    def because(self, reason: str) -> str:
        """A rulebook's reason for the outcome, with what is otherwise in the place than it says."""
        return " ".join((reason, *(limit.sentence for limit in self.house)))

    def how_sure(self, rule: Rule) -> str:
        """How sure the grade is that a rule gives: as the rule says; or, where a limit of the place decided,
        by the place's own word alone. What is disputed stays so."""
        return BY_THE_PLACE if self.house and rule.confidence != "disputed" else rule.confidence


def describe(grader: Grader, observed: Observed) -> Description:
    """The outcome and the cautions; what can be done to the part comes with them."""
    reading = grader.read(observed)
    outcome = grader.outcome(reading)
    grade = outcome.grade if isinstance(outcome, Graded) else None
    return Description(observed, reading, outcome, grade, grader.cautions(reading, grade), grader)


def _steps(grader: Grader, observed: Observed, reading: Reading, grade: str) -> tuple[Step, ...]:
    after = (
        (preparation, grader.grade(prepared(grader, observed, preparation)))
        for preparation in grader.preparations(reading)
    )
    return tuple(
        Step(preparation, outcome.grade)
        for preparation, outcome in after
        if isinstance(outcome, Graded) and outcome.grade != grade
    )
