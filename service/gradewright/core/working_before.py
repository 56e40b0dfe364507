"""How the lines of a valuation were worked out by earlier methods: what was kept is repeated with these."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from functools import cached_property

from gradewright.core.alike import TooLittle
from gradewright.core.asking import Asker
from gradewright.core.decimals import trimmed
from gradewright.core.description import Description
from gradewright.core.grading import Reading
from gradewright.core.money import TO_WHOLE, Rounding, minor_as_decimal, minor_per_unit
from gradewright.core.observations import Attribute
from gradewright.core.pricelist import Price
from gradewright.core.questions import Questioner
from gradewright.core.raising import raises
from gradewright.core.valued import Candidate, Onward, Part, Raises
from gradewright.core.weighing import NEVER
from gradewright.core.working import Work
from gradewright.core.worthwhile import MINUTES_AN_HOUR

Spread = tuple[str, str, int]
"""The cheapest and the dearest grade that a part can be, and the difference in minor units."""


class Work7(Work):
    """By method 7: a weight that was told of each was no more than that of all, and a gram beyond all that
    were recorded was far.
    """

    method = "7"


class Work6(Work):
    """By method 6: work on a part took the minutes of one piece, or of its count, whatever it weighed."""

    method = "6"


class Work5(Work):
    """By method 5: whatever a part weighed, it was pointed at as one device of its kind."""

    method = "5"


class Work4(Work):
    """By method 4: what was posted and waits is told as if nobody had posted it."""

    method = "4"


class Work3(Work4):
    """By method 3: whatever concerns a grade that is only named does so for certain, and with an hourly rate
    a test is worth it if it costs less than knowing can add at most.
    """

    method = "3"

    @cached_property
    def questioner(self) -> Questioner:
        """Chooses tests by the list's prices; made only where a part needs one."""
        return Questioner(self.grader, self.prices.worth())

    @cached_property
    def thorough(self) -> Questioner:
        """The same, but it goes on to the grade however alike the prices."""
        return Questioner(self.grader, self.prices.worth(), within=NEVER)

    def onward(self, reading: Reading, candidates: Sequence[Candidate]) -> Onward:
        """What to find out next about an undecided part, if that is worth it."""
        if self.hour_rate is not None:
            may_be_none = None in self.grader.prospects.ends(reading.possible, reading.known)
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


class Work2(Work3):
    """By method 2, for what was kept: only what is certain is cautioned of, and more is asked for."""

    method = "2"

    @cached_property
    def questioner(self) -> Questioner:
        """Chooses tests as it did then."""
        return Questioner(self.grader, self.prices.worth(), prospects=self.grader.prospects_of_method_2)


class Work1(Work2):
    """By method 1, for what was kept: single preparations, each for itself, and another choice of tests."""

    method = "1"
    singly = True

    @cached_property
    def asker(self) -> Asker:
        """Chooses tests by the list's prices; made only where a part needs one."""
        return Asker(self.grader, self.prices.worth())

    def onward(self, reading: Reading, candidates: Sequence[Candidate]) -> Onward:
        """What to find out next about an undecided part."""
        return Onward(self.asker.next_test(reading))

    def raised(self, part: Part, described: Description, price: Price) -> Raises:
        """The preparations that would raise a part that has a price."""
        mass, parts = part.ratio
        now = price.scale.likely * mass, price.scale.under * parts
        return raises(described.steps, self.prices, self.lot, now=now, grams=part.grams, count=part.pieces)


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
