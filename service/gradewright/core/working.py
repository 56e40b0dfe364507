"""What the lines of a valuation share while they are worked out, by the newest method.

Earlier ones are `core.working_before`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal
from fractions import Fraction
from functools import cached_property

from gradewright.core.alike import Alike, TooLittle
from gradewright.core.at_stake import HOUR, AtStake, usual_hour
from gradewright.core.concerns import Concerning
from gradewright.core.decimals import EXACT, trimmed
from gradewright.core.description import Description
from gradewright.core.grading import Contradiction, Grader, Reading, Undecided
from gradewright.core.methods import METHOD, ONE_PIECE, UNPRICED_UNRAISED, WAITING_UNSAID, concerning_part
from gradewright.core.money import minor_as_decimal, minor_per_unit, round_cash
from gradewright.core.pricelist import Price, PriceList
from gradewright.core.rates import Amount, Payer, Ratio, made
from gradewright.core.rulebook import Caution
from gradewright.core.valued import Candidate, Line, Onward, Part, Pile, Raises, Terms, Totals
from gradewright.core.weighing import Weighing, too_little
from gradewright.core.worthwhile import Lump, worthwhile

ZERO = Decimal(0)
SELLS_ALL_THE_SAME = (
    " Work on it sells all the same: what that brings is told counted from nothing, as the piece itself has "
    "no price here."
)
NOT_WORTH = " Finding out which is not worth it"


Several = Callable[[Part], int | None]


def as_told(part: Part) -> None:
    """A part is as many pieces as was told."""


class Work:
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
        several: Several = as_told,
    ) -> None:
        self.hour_rate, self.several = hour_rate, several
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
            _, _, _, ratio, grade, description, _ = part
            if grade is None:
                lines.append(self.undecided(part, description))
                continue
            pile = piles[grade]
            price = pile.price
            if price is None:
                pile.lines += 1
                lines.append(self.without_price(part, grade, description))
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

    def without_price(self, part: Part, grade: str, description: Description | None) -> Line:
        """A part whose grade has no price: why, and the work on it that is paid for all the same."""
        why = self.unpriced(grade)
        raised: Raises = ()
        if description is not None and description.routes.routes and self.method not in UNPRICED_UNRAISED:
            raised = self.work_on(part, description, None)
        return Line(part, None, None, f"{why}{SELLS_ALL_THE_SAME}" if raised else why, raised, (), None)

    def unpriced(self, grade: str) -> str:
        """Why a grade has no price."""
        return self.prices.why_unpriced(grade, waiting=self.method not in WAITING_UNSAID)

    def raised(self, part: Part, described: Description, price: Price) -> Raises:
        """The work that would raise a part that has a price."""
        mass, parts = part.ratio
        return self.work_on(part, described, (price.scale.likely * mass, price.scale.under * parts))

    def work_on(self, part: Part, described: Description, now: Ratio | None) -> Raises:
        """The work that brings more than a part comes to now; None: its grade has no price."""

        def lot(grade: str) -> Decimal:
            """The grams of a grade in this list, without the part: it leaves its pile."""
            beside = self.lot(grade)
            return EXACT.subtract(beside, part.grams) if grade == part.grade else beside

        about = None if self.method in ONE_PIECE else self.several(part)
        lump = Lump(part.grams, part.ratio, about or part.pieces, about)
        return worthwhile(described.routes, self.prices, lot, now=now, lump=lump, stays=part.grade or "")

    def lot(self, grade: str) -> Decimal:
        """The grams of a grade in this list."""
        pile = self.piles.get(grade)
        return ZERO if pile is None else pile.grams

    @cached_property
    def weighing(self) -> Weighing:
        """Chooses tests; made only where a part needs one."""
        return Weighing(self.grader, self.prices.worth(), stops=self.hour_rate is not None)

    @cached_property
    def a_minute(self) -> Fraction | None:
        """What a minute of work is worth, in minor units; None where nobody said and nothing tells."""
        hour = usual_hour(self.prices.worth()) if self.hour_rate is None else Fraction(self.hour_rate)
        return None if hour is None else hour * minor_per_unit(self.prices.currency) / HOUR

    def onward(self, reading: Reading, candidates: Sequence[Candidate]) -> Onward:
        """What to find out next about an undecided part, if that is worth it.

        With an hourly rate it is worth it where an order of tests adds more than its minutes cost; without
        one, as long as the prices are not nearly the same.
        """
        found = self.weighing.not_worth(reading)
        if found is not None:
            return Onward(None, found)
        amounts = {grade: amount.likely for grade, amount in candidates if amount is not None}
        stake = None
        if self.a_minute is not None:
            stake = AtStake({grade: Fraction(likely) for grade, likely in amounts.items()}, self.a_minute)
        test, stop, in_doubt = self.weighing.onward(reading, stake)
        if stop is None or stake is None:
            return Onward(test, None, in_doubt)
        return Onward(None, too_little(amounts, stake, stop))

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
        on = self.onward(description.reading, candidates)
        among = (
            f"to choose between {len(candidates)} grades"
            if len(candidates) > 1
            else f"to say whether it is {self.grader.rulebook.grades[candidates[0].grade].name}"
        )
        unpriced = f"too little is known {among}.{self.look(on)}"
        return Line(part, None, None, unpriced, (), tuple(candidates), *on)

    def look(self, on: Onward) -> str:
        """How it goes on, in a sentence behind another."""
        if isinstance(on.not_worth, Alike):
            return f"{NOT_WORTH}, as all of them pay nearly the same: name one of them."
        if on.not_worth is not None:
            return f"{NOT_WORTH}: {self.too_little_says(on.not_worth)} Name one of them."
        look = f" Next: {on.test.asks} ({on.test.test})" if on.test is not None else ""
        if not on.in_doubt:
            return look
        named = ", ".join(caution.name for caution in on.in_doubt)
        alike = self.hour_rate is None
        why = "All of them pay nearly the same" if alike else "Finding out costs more than it adds"
        return f" {why}, but a danger depends on it ({named}).{look}"

    def too_little_says(self, found: TooLittle) -> str:
        """What finding out adds, and what that costs."""
        currency = self.prices.currency
        adds, most, costs = (
            f"{minor_as_decimal(of, currency)} {currency}" for of in (found.adds, found.spread, found.costs)
        )
        least = " or more" if found.at_best else ""
        return (
            f"it adds {adds} on average, and {most} at most, and takes {trimmed(found.minutes)} min{least}, "
            f"which cost {costs} at that rate."
        )

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
