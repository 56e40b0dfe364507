"""A valuation: every part graded and priced, the totals, what is missing, and what would raise it.

A pure function of the parts, one rulebook version and one price list. Lots are piles: the weight that decides
on a from-weight is that of all parts of the same grade. Amounts are worked out exactly and rounded once per
line; totals are the sums of the rounded lines, as on a scale ticket. What has no price is never counted as
nothing: it is named.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from functools import cached_property

from gradewright.core.alike import TooLittle
from gradewright.core.asking import Asker
from gradewright.core.concerns import Concerning
from gradewright.core.decimals import EXACT, trimmed
from gradewright.core.description import Description
from gradewright.core.grading import Contradiction, Grader, Reading, Undecided
from gradewright.core.money import TO_WHOLE, Rounding, minor_as_decimal, minor_per_unit, round_cash
from gradewright.core.observations import Attribute
from gradewright.core.pricelist import Price, PriceList
from gradewright.core.questions import Questioner
from gradewright.core.raising import raises
from gradewright.core.rates import Amount, Payer, made
from gradewright.core.rulebook import Caution
from gradewright.core.valued import (
    Candidate,
    Line,
    Onward,
    Part,
    Pile,
    Raises,
    Terms,
    Totals,
    Valuation,
)
from gradewright.core.worthwhile import MINUTES_AN_HOUR, Lump, worthwhile

METHODS = ("1", "2", "3")
"""The ways of valuing: a change of any formula is a new method, so that old answers can be repeated. "1"
tells single preparations that raise a part, "2" sequences of them, "3" also the cautions that can still turn
out to concern a part, and what would pay beside it (`core.pointers`); each has its own choice of tests."""
METHOD = METHODS[-1]
"""The way in which what is asked now is valued."""

WITHOUT_POINTERS = frozenset({"1", "2"})
"""The methods that do not tell what would pay beside the valuation."""

CERTAIN_ONLY = frozenset({"1", "2"})
"""The methods by which a part of which too little is known shows only the cautions that are certain."""

ZERO = Decimal(0)
NEVER = Decimal(-1)
"""No prices lie within such a share of each other."""

Spread = tuple[str, str, int]
"""The cheapest and the dearest grade that a part can be, and the difference in minor units."""


def value(
    parts: Sequence[Part],
    grader: Grader,
    prices: PriceList,
    terms: Terms,
    method: str = METHOD,
    hour_rate: Decimal | None = None,
) -> Valuation:
    """The valuation of `parts` by a method; every amount in the price list's currency.

    `hour_rate`: what an hour of work is worth, from method 3 on. Finding out more about a part is then held
    against what it can add to that part's amount, instead of against a share of the price.
    """
    piles: dict[str, Pile] = {}
    for part in parts:
        grade = part.grade
        if grade in piles:
            pile = piles[grade]
            pile.grams = EXACT.add(pile.grams, part.grams)
        elif grade is not None:
            piles[grade] = Pile(grade, part.grams)
    for grade, pile in piles.items():
        pile.price = prices.price(grade, pile.grams)
    work = _WORK[method](grader, prices, terms, piles, hour_rate)
    lines = work.lines(parts)
    sorted_piles = tuple(sorted(piles.values(), key=_dearest_first))
    return Valuation(prices.currency, lines, sorted_piles, work.totals(lines), work.cautions(lines))


class _Work:
    """What the lines of one valuation share. `singly`: preparations are looked at each for itself."""

    method = METHOD
    singly = False

    def __init__(
        self,
        grader: Grader,
        prices: PriceList,
        terms: Terms,
        piles: dict[str, Pile],
        hour_rate: Decimal | None = None,
    ) -> None:
        self.hour_rate = hour_rate
        self.grader = grader
        self.prices = prices
        self.terms = terms
        self.payer = Payer(terms.rounding)
        self.piles = piles

    def lines(self, parts: Sequence[Part]) -> tuple[Line, ...]:
        """The parts, answered, in one loop: scripts send thousands."""
        amount_of, piles, singly = self.payer.amount, self.piles, self.singly
        lines: list[Line] = []
        for part in parts:
            _, _, _, ratio, grade, description = part
            if grade is None:
                lines.append(self.undecided(part, description))
                continue
            pile = piles[grade]
            price = pile.price
            if price is None:
                pile.lines += 1
                lines.append(Line(part, None, None, self.prices.why_unpriced(grade), (), (), None))
                continue
            amount = low, likely, high = amount_of(price.scale, ratio)
            pile.lines += 1
            pile.low += low
            pile.likely += likely
            pile.high += high
            raised: Raises = ()
            if description is not None:
                work = description.steps if singly else description.routes.routes
                if work:
                    raised = self.raised(part, description, price)
            lines.append(made(Line, (part, price, amount, None, raised, (), None, None, ())))
        return tuple(lines)

    def raised(self, part: Part, described: Description, price: Price) -> Raises:
        """The work that would raise a part that has a price."""
        lump = Lump(part.grams, part.ratio, part.pieces)
        now = price.scale.likely * lump.ratio[0], price.scale.under * lump.ratio[1]

        def lot(grade: str) -> Decimal:
            """The grams of a grade in this list, without the part: it leaves its pile."""
            beside = self.lot(grade)
            return EXACT.subtract(beside, part.grams) if grade == part.grade else beside

        return worthwhile(described.routes, self.prices, lot, now=now, lump=lump)

    def lot(self, grade: str) -> Decimal:
        """The grams of a grade in this list."""
        pile = self.piles.get(grade)
        return ZERO if pile is None else pile.grams

    @cached_property
    def questioner(self) -> Questioner:
        """Chooses tests by the list's prices; made only where a part needs one."""
        return Questioner(self.grader, self.prices.worth())

    @cached_property
    def thorough(self) -> Questioner:
        """The same, but it goes on to the grade however alike the prices."""
        return Questioner(self.grader, self.prices.worth(), within=NEVER)

    def onward(self, reading: Reading, candidates: Sequence[Candidate], *, may_be_none: bool) -> Onward:
        """What to find out next about an undecided part, if that is worth it."""
        if self.hour_rate is not None:
            spread = None if may_be_none else _spread(candidates)
            return self.onward_paid(reading, spread, self.hour_rate)
        found = self.questioner.not_worth(reading)
        if found is not None:
            return Onward(None, found)
        return Onward(self.questioner.next_test(reading), None, self.questioner.in_doubt(reading))

    def onward_paid(self, reading: Reading, spread: Spread | None, hour_rate: Decimal) -> Onward:
        """The same by what time costs: a test is worth it if it costs less than knowing can add.

        What nobody knows the worth of is found out, and so is what a danger depends on.
        """
        if spread is None:
            return Onward(self.thorough.next_test(reading))
        cheapest, dearest, most = spread
        an_hour = Fraction(hour_rate) * minor_per_unit(self.prices.currency)

        def costs(attribute: Attribute) -> Fraction:
            return an_hour * Fraction(attribute.minutes) / MINUTES_AN_HOUR

        attributes = self.grader.rulebook.attributes
        too_dear = [name for name, attribute in attributes.items() if costs(attribute) >= most]
        test = self.thorough.next_test(reading, too_dear)
        if test is not None:
            return Onward(test)
        at_any_cost = self.thorough.next_test(reading)
        in_doubt = self.thorough.open_cautions(reading)
        if in_doubt or at_any_cost is None:
            return Onward(at_any_cost, None, in_doubt)
        cost = costs(at_any_cost)
        told = TO_WHOLE[Rounding.HALF_EVEN](cost.numerator, cost.denominator)
        return Onward(None, TooLittle(cheapest, dearest, most, at_any_cost.minutes, told))

    def undecided(self, part: Part, description: Description | None) -> Line:
        """A part without a grade: what it can still be, what that comes to, and the test to make next."""
        outcome = description.outcome if description is not None else None
        if isinstance(outcome, Contradiction):
            because = " ".join(entry.because for entry in outcome.impossible)
            because = description.because(because) if description is not None else because
            return Line(part, None, None, f"it cannot be as described. {because}", (), (), None)
        if not isinstance(outcome, Undecided) or description is None:
            unpriced = "the rulebook has no rule for such a part. Name its grade, or look at it again."
            return Line(part, None, None, unpriced, (), (), None)
        candidates = []
        for grade in outcome.candidates:
            price = self.prices.price(grade, EXACT.add(self.lot(grade), part.grams))
            amount = self.payer.amount(price.scale, part.ratio) if price is not None else None
            candidates.append(Candidate(grade, amount))
        on = self.onward(description.reading, candidates, may_be_none=outcome.may_be_ungraded)
        among = (
            f"to choose between {len(candidates)} grades"
            if len(candidates) > 1
            else f"to say whether it is {self.grader.rulebook.grades[candidates[0].grade].name}"
        )
        unpriced = f"too little is known {among}.{self.look(on)}"
        return Line(part, None, None, unpriced, (), tuple(candidates), *on)

    def look(self, on: Onward) -> str:
        """How it goes on, in a sentence behind another."""
        found = on.not_worth
        if isinstance(found, TooLittle):
            currency = self.prices.currency
            adds, costs = (
                f"{minor_as_decimal(of, currency)} {currency}" for of in (found.spread, found.costs)
            )
            return (
                f" Finding out which is not worth it: it adds at most {adds}, and the next test takes "
                f"{trimmed(found.minutes)} min, which cost {costs} at that rate. Name one of them."
            )
        return _look(on)

    def totals(self, lines: Sequence[Line]) -> Totals:
        """The sums over the priced lines, and how many lines those are."""
        piles = self.piles.values()
        total = Amount(*(sum([getattr(pile, column) for pile in piles]) for column in Amount._fields))
        currency, step = self.prices.currency, self.terms.cash_increment
        cash = round_cash(minor_as_decimal(total.likely, currency), step) if step is not None else None
        unpriced = sum([line.amount is None for line in lines])
        return Totals(total, cash, len(lines) - unpriced, unpriced)

    def cautions(self, lines: Sequence[Line]) -> Concerning:
        """Every caution that concerns a part, or work proposed on one; once, in the order of the parts."""
        found: dict[str, Caution] = {}
        may_be: dict[str, Caution] = {}
        for line in lines:
            concerning = concerning_part(line.part, self.grader, self.method)
            for caution in concerning.certain:
                found[caution.id] = caution
            for caution in concerning.possible:
                may_be[caution.id] = caution
            for raised in line.raises:
                for preparation in raised.preparations:
                    for name in preparation.cautions:
                        found[name] = self.grader.rulebook.cautions[name]
        only = (caution for name, caution in may_be.items() if name not in found)
        return Concerning(tuple(found.values()), tuple(only))


class _Work2(_Work):
    """By method 2, for what was kept: only what is certain is cautioned of, and more is asked for."""

    method = "2"

    @cached_property
    def questioner(self) -> Questioner:
        """Chooses tests as it did then."""
        return Questioner(self.grader, self.prices.worth(), prospects=self.grader.prospects_of_method_2)


class _Work1(_Work2):
    """By method 1, for what was kept: single preparations, each for itself, and another choice of tests."""

    method = "1"
    singly = True

    @cached_property
    def asker(self) -> Asker:
        """Chooses tests by the list's prices; made only where a part needs one."""
        return Asker(self.grader, self.prices.worth())

    def onward(self, reading: Reading, candidates: Sequence[Candidate], *, may_be_none: bool) -> Onward:
        """What to find out next about an undecided part."""
        return Onward(self.asker.next_test(reading))

    def raised(self, part: Part, described: Description, price: Price) -> Raises:
        """The preparations that would raise a part that has a price."""
        mass, parts = part.ratio
        now = price.scale.likely * mass, price.scale.under * parts
        return raises(described.steps, self.prices, self.lot, now=now, grams=part.grams, count=part.pieces)


_WORK = dict(zip(METHODS, (_Work1, _Work2, _Work), strict=True))


def concerning_part(part: Part, grader: Grader, method: str) -> Concerning:
    """The cautions of one part, as a method tells them."""
    if part.description is None:
        return grader.concerning(None, part.grade)
    if method in CERTAIN_ONLY:
        return Concerning(part.description.cautions)
    return part.description.concerning


def _spread(candidates: Sequence[Candidate]) -> Spread | None:
    """None where one has no price: nobody knows what that would come to."""
    amounts = {grade: amount.likely for grade, amount in candidates if amount is not None}
    if not amounts or len(amounts) < len(candidates):
        return None
    cheapest, dearest = (end(sorted(amounts), key=lambda grade: amounts[grade]) for end in (min, max))
    return cheapest, dearest, amounts[dearest] - amounts[cheapest]


def _look(on: Onward) -> str:
    """How it goes on, in a sentence behind another."""
    if on.not_worth is not None:
        return " Finding out which is not worth it, as all of them pay nearly the same: name one of them."
    look = f" Next: {on.test.asks} ({on.test.test})" if on.test is not None else ""
    if not on.in_doubt:
        return look
    named = ", ".join(caution.name for caution in on.in_doubt)
    return f" All of them pay nearly the same, but a danger depends on it ({named}).{look}"


def _dearest_first(pile: Pile) -> tuple[bool, int, str]:
    return pile.price is None, -pile.likely, pile.grade
