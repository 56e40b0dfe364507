"""A valuation: every part graded and priced, the totals, what is missing, and what would raise it.

A pure function of the parts, one rulebook version and one price list. Lots are piles: the weight that decides
on a from-weight is that of all parts of the same grade. Amounts are worked out exactly and rounded once per
line; totals are the sums of the rounded lines, as on a scale ticket. What has no price is never counted as
nothing: it is named.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property, reduce
from typing import NamedTuple

from gradewright.core.asking import Asker
from gradewright.core.decimals import EXACT
from gradewright.core.description import Description
from gradewright.core.grading import Contradiction, Grader, Undecided
from gradewright.core.money import Rounding, amount_for, round_cash, round_money
from gradewright.core.observations import Attribute
from gradewright.core.pricelist import Price, PriceList
from gradewright.core.raising import Raised, raises
from gradewright.core.rates import Amount, Payer
from gradewright.core.rulebook import Caution

METHOD = "1"
"""The way of valuing: a change of any formula is a new method, so that old answers can be repeated."""

ZERO = Decimal(0)


class Part(NamedTuple):
    """A piece, or several alike, of `grams` together; its grade was named, or comes with its description.

    `grade` is None where too little is known for one.
    """

    name: str
    pieces: int
    grams: Decimal
    grade: str | None
    description: Description | None = None


class Candidate(NamedTuple):
    """A grade that the part can still turn out to be, and what it would come to."""

    grade: str
    amount: Amount | None


class Line(NamedTuple):
    """One part, answered. Exactly one of `amount` and `unpriced` is there."""

    part: Part
    price: Price | None
    amount: Amount | None
    unpriced: str | None
    raises: tuple[Raised, ...]
    candidates: tuple[Candidate, ...]
    next_test: Attribute | None


class Pile(NamedTuple):
    """All parts of one grade together; `amount` is None where the grade has no price."""

    grade: str
    grams: Decimal
    lines: int
    amount: Amount | None


@dataclass(frozen=True, slots=True)
class Totals:
    """Sums of the priced lines; `cash` is the likely total in the steps that a yard pays in cash."""

    amount: Amount
    cash: Decimal | None
    priced: int
    unpriced: int


@dataclass(frozen=True, slots=True)
class Terms:
    """How a yard pays: the rounding of each line, and the step of a total paid in cash, if it has one."""

    rounding: Rounding = Rounding.HALF_EVEN
    cash_increment: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Valuation:
    """The whole answer."""

    currency: str
    lines: tuple[Line, ...]
    piles: tuple[Pile, ...]
    totals: Totals
    cautions: tuple[Caution, ...]

    @property
    def complete(self) -> bool:
        """Whether every line has a price."""
        return not self.totals.unpriced


def value(parts: Sequence[Part], grader: Grader, prices: PriceList, terms: Terms) -> Valuation:
    """The valuation of `parts`; every amount in the price list's currency."""
    lots: dict[str, Decimal] = {}
    for part in parts:
        grade = part.grade
        if grade is not None:
            lots[grade] = EXACT.add(lots.get(grade, ZERO), part.grams)
    work = _Work(grader, prices, terms, lots)
    lines = work.lines(parts)
    piles = work.piles(lines)
    return Valuation(prices.currency, lines, piles, work.totals(lines, piles), work.cautions(lines))


class _Work:
    """What the lines of one valuation share."""

    def __init__(self, grader: Grader, prices: PriceList, terms: Terms, lots: dict[str, Decimal]) -> None:
        self.grader = grader
        self.prices = prices
        self.terms = terms
        self.payer = Payer(prices.currency, terms.rounding)
        self.lots = lots

    def lines(self, parts: Sequence[Part]) -> tuple[Line, ...]:
        """The parts, answered, in one loop: scripts send thousands."""
        price_of, amount_of, lots = self.prices.price, self.payer.amount, self.lots
        lines: list[Line] = []
        for part in parts:
            _, _, grams, grade, description = part
            if grade is None:
                lines.append(self.undecided(part, description))
                continue
            price = price_of(grade, lots[grade])
            if price is None:
                lines.append(Line(part, None, None, self.prices.why_unpriced(grade), (), (), None))
                continue
            raised = () if description is None or not description.steps else self.raised(part, price)
            amount = amount_of(price.low, price.likely, price.high, grams)
            lines.append(Line(part, price, amount, None, raised, (), None))
        return tuple(lines)

    def raised(self, part: Part, price: Price) -> tuple[Raised, ...]:
        """What would raise a part that has a price."""
        steps = part.description.steps if part.description is not None else ()
        now = amount_for(price.likely.price, price.likely.per_grams, part.grams)
        return raises(steps, self.prices, self.lots, now=now, grams=part.grams, count=part.pieces)

    @cached_property
    def asker(self) -> Asker:
        """Chooses tests by the list's prices; made only where a part needs one."""
        return Asker(self.grader, self.prices.worth())

    def undecided(self, part: Part, description: Description | None) -> Line:
        """A part without a grade: what it can still be, what that comes to, and the test to make next."""
        outcome = description.outcome if description is not None else None
        if isinstance(outcome, Contradiction):
            because = " ".join(entry.because for entry in outcome.impossible)
            return Line(part, None, None, f"it cannot be as described. {because}", (), (), None)
        if not isinstance(outcome, Undecided) or description is None:
            unpriced = "the rulebook has no rule for such a part. Name its grade, or look at it again."
            return Line(part, None, None, unpriced, (), (), None)
        candidates = []
        for grade in outcome.candidates:
            price = self.prices.price(grade, EXACT.add(self.lots.get(grade, ZERO), part.grams))
            candidates.append(Candidate(grade, self.amount(price, part.grams) if price is not None else None))
        asked = self.asker.next_test(description.reading)
        look = f" Next: {asked.asks} ({asked.test})" if asked is not None else ""
        unpriced = f"too little is known to choose between {len(candidates)} grades.{look}"
        return Line(part, None, None, unpriced, (), tuple(candidates), asked)

    def amount(self, price: Price, grams: Decimal) -> Amount:
        """Low, likely and high for a weight, each rounded once."""
        return self.payer.amount(price.low, price.likely, price.high, grams)

    def piles(self, lines: Sequence[Line]) -> tuple[Pile, ...]:
        """The parts of each grade together, dearest first, unpriced last."""
        found: dict[str, list[Amount | None]] = {}
        for line in lines:
            grade = line.part.grade
            if grade is None:
                continue
            if grade in found:
                found[grade].append(line.amount)
            else:
                found[grade] = [line.amount]
        piles = [Pile(grade, self.lots[grade], len(of), self.sum(of)) for grade, of in found.items()]
        piles.sort(key=_dearest_first)
        return tuple(piles)

    def totals(self, lines: Sequence[Line], piles: Sequence[Pile]) -> Totals:
        """The sums over the priced lines, and how many lines those are."""
        nothing = round_money(ZERO, self.prices.currency)
        total = self.sum([pile.amount for pile in piles]) or Amount(nothing, nothing, nothing)
        step = self.terms.cash_increment
        cash = round_cash(total.likely, step) if step is not None else None
        unpriced = sum(line.amount is None for line in lines)
        return Totals(total, cash, len(lines) - unpriced, unpriced)

    def sum(self, amounts: Sequence[Amount | None]) -> Amount | None:
        """The sum of the amounts that are there, column by column; exact. None where there is none."""
        known = [amount for amount in amounts if amount is not None]
        if len(known) <= 1:
            return known[0] if known else None
        low, likely, high = zip(*known, strict=True)
        add = EXACT.add
        return Amount(reduce(add, low), reduce(add, likely), reduce(add, high))

    def cautions(self, lines: Sequence[Line]) -> tuple[Caution, ...]:
        """Every caution that concerns a part, or work proposed on one; once, in the order of the parts."""
        found: dict[str, Caution] = {}
        for line in lines:
            for caution in cautions_of(line.part, self.grader):
                found[caution.id] = caution
            for raised in line.raises:
                for name in raised.step.preparation.cautions:
                    found[name] = self.grader.rulebook.cautions[name]
        return tuple(found.values())


def cautions_of(part: Part, grader: Grader) -> tuple[Caution, ...]:
    """The cautions that concern one part."""
    return part.description.cautions if part.description is not None else grader.cautions(None, part.grade)


def _dearest_first(pile: Pile) -> tuple[bool, Decimal, str]:
    return pile.amount is None, -pile.amount.likely if pile.amount is not None else ZERO, pile.grade
