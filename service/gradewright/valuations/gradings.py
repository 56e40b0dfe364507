"""Grading one part: its grade and why, or what it can still be and what to find out next."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from gradewright.clock import Clock
from gradewright.core.description import Description
from gradewright.core.errors import ObservationError
from gradewright.core.explain import Step, trace
from gradewright.core.grading import Contradiction, Graded, Grader, Outcome, Undecided
from gradewright.core.observations import no_attribute
from gradewright.core.pricelist import PriceList, Shown
from gradewright.core.rulebook import Rule
from gradewright.prices.service import PriceService
from gradewright.rulebooks.service import RulebookService, Version
from gradewright.valuations.dialogue import USUAL, NotWorth, Onward, Terms, onward
from gradewright.valuations.lines import outcome_name
from gradewright.valuations.shapes import house_limit, question_about, warning, warnings

NAMED_AT_MOST = 12


@dataclass(frozen=True, slots=True)
class CandidateShown:
    """A grade that the part can still be, with its price where one was asked for and there is one."""

    grade: str
    name: str
    price: Shown | None


@dataclass(frozen=True, slots=True)
class StepShown:
    """One rule of the trace: whether it holds (None: too little is known), and why."""

    rule: str
    grade: str
    holds: bool | None
    why: str


@dataclass(frozen=True, slots=True)
class Grading:
    """The answer to one description."""

    rulebook: str
    currency: str | None
    outcome: str
    grade: str | None
    name: str | None
    rule: str | None
    because: str | None
    source: str | None
    confidence: str | None
    settled_by: str | None
    price: Shown | None
    says: str
    candidates: tuple[CandidateShown, ...]
    may_be_ungraded: bool
    next_test: dict[str, Any] | None
    not_worth: NotWorth | None
    in_doubt: list[dict[str, Any]]
    house_limits: list[dict[str, str]]
    trace: tuple[StepShown, ...]
    cautions: list[dict[str, Any]]


class GradingService:
    """Grades by one version, with local prices beside the candidates where a place is named."""

    def __init__(self, prices: PriceService, rulebooks: RulebookService, clock: Clock) -> None:
        self._prices = prices
        self._rulebooks = rulebooks
        self._clock = clock

    async def grade(
        self,
        observed: Mapping[str, Any],
        *,
        rulebook: str | None = None,
        on: date | None = None,
        region: str | None = None,
        yard: str | None = None,
        skip: Collection[str] = (),
        terms: Terms = USUAL,
    ) -> Grading:
        """The grading of a part by a named version, or by the one in force on a day (None: today).

        `skip` names attributes that are not to be asked for, because nobody can tell; `terms`: when nothing
        more is asked.

        Raises `ObservationError` with every fault of what was observed, and of what is to be skipped.
        """
        day = on or self._clock().date()
        version = await (self._rulebooks.in_force(day) if rulebook is None else self._rulebooks.get(rulebook))
        place = None
        if region is not None or yard is not None:
            place = await self._prices.place(region, yard)
            usual, version = version, await version.under(await self._prices.limits(place, day))
        described = _described(version, observed, skip)
        prices = None
        if place is not None:
            prices, _ = await self._prices.list_for(place, usual.rulebook, day)
        return answer(version, described, prices, skip, terms)


def _described(version: Version, observed: Mapping[str, Any], skip: Collection[str]) -> Description:
    attributes = version.rulebook.attributes
    faults = [
        no_attribute(attributes, name, ("skip", number))
        for number, name in enumerate(skip)
        if name not in attributes
    ]
    try:
        described = version.describe(observed)
    except ObservationError as error:
        faults = [*(fault.under("observed") for fault in error.faults), *faults]
    if faults:
        raise ObservationError("; ".join(fault.detail for fault in faults), faults=tuple(faults))
    return described


def answer(
    version: Version,
    described: Description,
    prices: PriceList | None,
    skip: Collection[str] = (),
    terms: Terms = USUAL,
) -> Grading:
    """The whole answer for a description."""
    grader, outcome = version.grader, described.outcome
    graded = outcome if isinstance(outcome, Graded) else None
    candidates = _candidates(grader, outcome, prices)
    on = Onward()
    if isinstance(outcome, Undecided):
        on = onward(grader, described.reading, prices, terms, skip)
    currency = prices.currency if prices is not None else None
    price = prices.price(graded.grade) if prices is not None and graded is not None else None
    told = described.because(says(grader, outcome, on.says(currency)))
    if prices is not None and graded is not None and price is None and _has_a_reason(graded.grade, prices):
        told = f"{told} {prices.why_unpriced(graded.grade)}"
    return Grading(
        rulebook=grader.rulebook.version,
        currency=currency,
        outcome=outcome_name(outcome),
        grade=graded.grade if graded else None,
        name=grader.rulebook.grades[graded.grade].name if graded else None,
        rule=graded.rule.id if graded else None,
        because=described.because(graded.rule.because) if graded else None,
        source=graded.rule.source if graded else None,
        confidence=described.how_sure(graded.rule) if graded else None,
        settled_by=graded.rule.settled_by if graded else None,
        price=price.shown if price is not None else None,
        says=told,
        candidates=candidates,
        may_be_ungraded=isinstance(outcome, Undecided) and outcome.may_be_ungraded,
        next_test=question_about(grader, described.reading, on.test),
        not_worth=on.not_worth,
        in_doubt=[warning(caution) for caution in on.in_doubt],
        house_limits=[house_limit(limit) for limit in described.house],
        trace=tuple(map(_shown, trace(grader, described.observed))),
        cautions=warnings(described.concerning),
    )


def _has_a_reason(grade: str, prices: PriceList) -> bool:
    """Whether there is more to tell of a grade without a price than that nobody has posted one."""
    return grade in prices.refused or prices.waits(grade)


def says(grader: Grader, outcome: Outcome, onward: str) -> str:
    """The outcome in a few sentences for people; `onward` is how it goes on where it is undecided."""
    names = grader.rulebook.grades
    if isinstance(outcome, Graded):
        return f"{names[outcome.grade].name}. {outcome.rule.because}{_disputed(outcome.rule)}"
    if isinstance(outcome, Contradiction):
        return f"It cannot be as described. {' '.join(entry.because for entry in outcome.impossible)}"
    if isinstance(outcome, Undecided):
        named = [names[grade].name for grade in outcome.candidates]
        more = len(named) - NAMED_AT_MOST
        listed = ", ".join(named[:NAMED_AT_MOST]) + (f" and {more} more" if more > 0 else "")
        none = ", or nothing that the rulebook knows" if outcome.may_be_ungraded else ""
        return f"It can still be {listed}{none}. {onward}"
    return "The rulebook has no rule for such a part. Ask a yard what it would take it as."


def _disputed(rule: Rule) -> str:
    if rule.confidence != "disputed":
        return ""
    if rule.settled_by is None:  # versions up to 2026.2 do not say
        return " This is disputed: ask the yard what it takes it as."
    return f" This is disputed. To settle it: {rule.settled_by}"


def _candidates(grader: Grader, outcome: Outcome, prices: PriceList | None) -> tuple[CandidateShown, ...]:
    if not isinstance(outcome, Undecided):
        return ()
    found = []
    for grade in outcome.candidates:
        price = prices.price(grade) if prices is not None else None
        name = grader.rulebook.grades[grade].name
        found.append(CandidateShown(grade, name, price.shown if price is not None else None))
    return tuple(found)


def _shown(step: Step) -> StepShown:
    return StepShown(step.rule.id, step.rule.grade, step.holds, step.why)
