"""Why a part was graded so: every rule down to the one that decided, and what kept the others out."""

from __future__ import annotations

from dataclasses import dataclass

from gradewright.core.grading import Grader
from gradewright.core.observations import Observed
from gradewright.core.rulebook import Rule, When


@dataclass(frozen=True, slots=True)
class Step:
    """One rule of a trace: `holds` is True, False, or None where too little is known to say."""

    rule: Rule
    holds: bool | None
    why: str


def trace(grader: Grader, observed: Observed) -> tuple[Step, ...]:
    """The rules in order, down to the first that holds for certain (or to the last, where none does)."""
    reading = grader.read(observed)
    index = grader.index
    steps: list[Step] = []
    for number, rule in enumerate(grader.rulebook.rules):
        bit = 1 << (index.first_rule + number)
        if reading.certain & bit:
            steps.append(Step(rule, True, _met(grader, rule.when, observed)))
            break
        if reading.possible & bit:
            steps.append(Step(rule, None, _unknown(grader, rule.when, observed)))
        else:
            steps.append(Step(rule, False, _failed(grader, rule.when, observed)))
    return tuple(steps)


def _met(grader: Grader, when: When, observed: Observed) -> str:
    known = (c for c in when if c.attribute in observed)
    attributes = grader.rulebook.attributes
    parts = [
        f"{c.attribute} is {attributes[c.attribute].show(observed[c.attribute])}"
        + ("" if c.values else f", {c.asks(attributes[c.attribute])} is asked")
        for c in known
    ]
    return "; ".join(parts)


def _unknown(grader: Grader, when: When, observed: Observed) -> str:
    open_ones = [c for c in when if c.attribute not in observed]
    attributes = grader.rulebook.attributes
    return "not known: " + "; ".join(
        f"{c.attribute} ({c.asks(attributes[c.attribute])} is asked)" for c in open_ones
    )


def _failed(grader: Grader, when: When, observed: Observed) -> str:
    attributes = grader.rulebook.attributes
    for condition in when:
        name = condition.attribute
        if name in observed and not condition.holds(observed[name]):
            attribute = attributes[name]
            return f"{name} is {attribute.show(observed[name])}; {condition.asks(attribute)} is asked"
    for condition in when:
        if condition.attribute not in observed:
            asks = condition.asks(attributes[condition.attribute])
            return f"{condition.attribute} cannot be {asks} on a part like this"
    return "what is observed does not go together with it"
