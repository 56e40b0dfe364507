"""A valuation: every part graded and priced, the totals, what is missing, and what would raise it.

A pure function of the parts, one rulebook version and one price list. Lots are piles: the weight that
decides on a from-weight is that of all parts of the same grade. Amounts are worked out exactly and
rounded once per line; totals are the sums of the rounded lines, as on a scale ticket. What has no price
is never counted as nothing: it is named.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from gradewright.core.answers import (
    NO_CANDIDATES,
    Amount,
    Candidate,
    CautionShown,
    Line,
    NextTest,
    Pile,
    Raise,
    Totals,
    Valuation,
    WeightShown,
)
from gradewright.core.asking import next_test
from gradewright.core.decimals import EXACT, plain
from gradewright.core.grading import Contradiction, Graded, Grader, Outcome, Reading, Undecided
from gradewright.core.money import Rounding, amount_for, round_cash, round_money
from gradewright.core.observations import Observed
from gradewright.core.pricelist import Price, PriceList
from gradewright.core.raising import Raiser
from gradewright.core.units import Mass, show_mass

METHOD = "1"
"""The way of valuing: a change of any formula is a new method, so that old answers can be repeated."""

ZERO = Decimal(0)
KILOGRAM = Decimal(1000)


@dataclass(frozen=True, slots=True)
class Part:
    """A piece, or several alike, of `mass` together; either observed or named by grade."""

    name: str
    count: int
    mass: Mass
    observed: Observed | None = None
    grade: str | None = None


@dataclass(frozen=True, slots=True)
class Terms:
    """How a yard pays: the rounding of each line, and the step of a total paid in cash, if it has one."""

    rounding: Rounding = Rounding.HALF_EVEN
    cash_increment: Decimal | None = None


def value(parts: Sequence[Part], grader: Grader, prices: PriceList, terms: Terms) -> Valuation:
    """The valuation of `parts`; every amount in the price list's currency."""
    readings = [None if part.observed is None else grader.read(part.observed) for part in parts]
    outcomes = [None if reading is None else grader.outcome(reading) for reading in readings]
    grades = [_grade(part, outcome) for part, outcome in zip(parts, outcomes, strict=True)]
    lots: dict[str, Decimal] = {}
    for part, grade in zip(parts, grades, strict=True):
        if grade is not None:
            lots[grade] = EXACT.add(lots.get(grade, ZERO), part.mass.grams)
    work = _Work(grader, prices, terms, lots)
    lines = tuple(map(work.line, parts, readings, outcomes, grades))
    priced = [line for line in lines if line.amount is not None]
    return Valuation(
        complete=len(priced) == len(lines),
        currency=prices.currency,
        parts=lines,
        piles=work.piles(lines),
        totals=work.totals([line.amount for line in lines]),
        missing=tuple(f"{line.name}: {line.unpriced}" for line in lines if line.unpriced is not None),
        cautions=tuple(work.cautions.values()),
    )


def _grade(part: Part, outcome: Outcome | None) -> str | None:
    return outcome.grade if isinstance(outcome, Graded) else part.grade


class _Work:
    """What the lines of one valuation share."""

    def __init__(self, grader: Grader, prices: PriceList, terms: Terms, lots: Mapping[str, Decimal]) -> None:
        self.grader = grader
        self.rulebook = grader.rulebook
        self.prices = prices
        self.terms = terms
        self.lots = lots
        self.raiser = Raiser(grader, prices, lots)
        self.cautions: dict[str, CautionShown] = {}

    def line(self, part: Part, reading: Reading | None, outcome: Outcome | None, grade: str | None) -> Line:
        """One part, answered."""
        rule = outcome.rule if isinstance(outcome, Graded) else None
        price = self.prices.price(grade, self.lots[grade]) if grade is not None else None
        candidates, test, unpriced = NO_CANDIDATES, None, None
        if isinstance(outcome, Undecided):
            candidates, test = self.undecided(part, reading, outcome)
        if grade is None:
            unpriced = self.why_ungraded(outcome, test)
        elif price is None:
            unpriced = self.prices.why_unpriced(grade)
        raised: tuple[Raise, ...] = ()
        if reading is not None and price is not None and grade is not None and part.observed is not None:
            raised = self.raiser.raises(
                part.observed, reading, grade, grams=part.mass.grams, count=part.count
            )
        return Line(
            name=part.name,
            count=part.count,
            weight=WeightShown(
                part.mass.given, plain(EXACT.divide(part.mass.grams, KILOGRAM)), show_mass(part.mass.grams)
            ),
            outcome="named" if outcome is None else OUTCOMES[type(outcome).__name__],
            grade=grade,
            grade_name=self.rulebook.grades[grade].name if grade is not None else None,
            rule=rule.id if rule else None,
            because=rule.because if rule else self.because(outcome),
            source=rule.source if rule else None,
            confidence=rule.confidence if rule else None,
            candidates=candidates,
            next_test=test,
            price=price.shown if price is not None else None,
            amount=self.amount(price, part.mass.grams) if price is not None else None,
            unpriced=unpriced,
            raises=raised,
            cautions=self.warn(reading, grade),
        )

    def amount(self, price: Price, grams: Decimal) -> Amount:
        """Low, likely and high for a weight, each rounded once."""
        rounded = (
            round_money(
                amount_for(rate.price, rate.per_grams, grams), self.prices.currency, self.terms.rounding
            )
            for rate in (price.low, price.likely, price.high)
        )
        return Amount(*map(plain, rounded))

    def undecided(
        self, part: Part, reading: Reading | None, outcome: Undecided
    ) -> tuple[tuple[Candidate, ...], NextTest | None]:
        """The grades that the part can still be, each with its amount, and the test to make next."""
        candidates, worth = [], {}
        for grade in outcome.candidates:
            price = self.prices.price(grade, EXACT.add(self.lots.get(grade, ZERO), part.mass.grams))
            amount = self.amount(price, part.mass.grams) if price is not None else None
            candidates.append(Candidate(grade, self.rulebook.grades[grade].name, amount))
            if price is not None:
                worth[grade] = price.likely.per(KILOGRAM)
        asked = next_test(self.grader, reading, worth) if reading is not None else None
        return tuple(candidates), NextTest.of(asked) if asked is not None else None

    def because(self, outcome: Outcome | None) -> str | None:
        """Why a description cannot be, where it cannot."""
        return (
            " ".join(entry.because for entry in outcome.impossible)
            if isinstance(outcome, Contradiction)
            else None
        )

    def why_ungraded(self, outcome: Outcome | None, test: NextTest | None) -> str:
        """Why a part has no grade, and what would settle it."""
        if isinstance(outcome, Undecided):
            look = f" Next: {test.asks} ({test.test})" if test is not None else ""
            return f"too little is known to choose between {len(outcome.candidates)} grades.{look}"
        if isinstance(outcome, Contradiction):
            return f"it cannot be as described. {self.because(outcome)}"
        return "the rulebook has no rule for such a part. Name its grade, or look at it again."

    def warn(self, reading: Reading | None, grade: str | None) -> tuple[str, ...]:
        """The ids of the cautions that concern a part; their texts are told once for the whole list."""
        found = self.grader.cautions(reading, grade)
        for caution in found:
            self.cautions.setdefault(
                caution.id, CautionShown(caution.id, caution.name, caution.says, caution.source)
            )
        return tuple(caution.id for caution in found)

    def piles(self, lines: Sequence[Line]) -> tuple[Pile, ...]:
        """The parts of each grade together, dearest first, unpriced last."""
        by_grade: dict[str, list[Amount | None]] = {}
        for line in lines:
            if line.grade is not None:
                by_grade.setdefault(line.grade, []).append(line.amount)
        piles = []
        for grade, amounts in by_grade.items():
            known = [amount for amount in amounts if amount is not None]
            total = self.sum(known) if known else None
            kilograms = plain(EXACT.divide(self.lots[grade], KILOGRAM))
            piles.append(Pile(grade, self.rulebook.grades[grade].name, kilograms, len(amounts), total))
        return tuple(
            sorted(
                piles,
                key=lambda p: (p.amount is None, -Decimal(p.amount.likely) if p.amount else ZERO, p.grade),
            )
        )

    def totals(self, amounts: Sequence[Amount | None]) -> Totals:
        """The sums over the priced lines, and how many lines those are."""
        known = [amount for amount in amounts if amount is not None]
        total = self.sum(known)
        step = self.terms.cash_increment
        cash = plain(round_cash(Decimal(total.likely), step)) if step is not None else None
        return Totals(total.low, total.likely, total.high, cash, len(known), len(amounts) - len(known))

    def sum(self, amounts: Sequence[Amount]) -> Amount:
        """The sum of rounded amounts, column by column."""
        nothing = round_money(ZERO, self.prices.currency)
        low = sum((Decimal(amount.low) for amount in amounts), nothing)
        likely = sum((Decimal(amount.likely) for amount in amounts), nothing)
        high = sum((Decimal(amount.high) for amount in amounts), nothing)
        return Amount(plain(low), plain(likely), plain(high))


OUTCOMES = {
    "Graded": "graded",
    "Undecided": "undecided",
    "Contradiction": "contradiction",
    "Ungraded": "ungraded",
}
