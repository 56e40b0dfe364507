"""What would raise a part's grade: each preparation that applies, what it adds, and what it adds per hour."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from gradewright.core.answers import Raise
from gradewright.core.decimals import EXACT, ROUNDING, plain, trimmed
from gradewright.core.grading import Graded, Grader, Reading
from gradewright.core.money import amount_for, round_money
from gradewright.core.observations import Observed, Value
from gradewright.core.pricelist import PriceList
from gradewright.core.rulebook import Preparation

ZERO = Decimal(0)
MINUTES_AN_HOUR = Decimal(60)
KILOGRAM = Decimal(1000)
SHOWN_MINUTES = Decimal("0.01")
FIRST = Decimal("Infinity")  # the rank of work that takes no time


@dataclass(frozen=True, slots=True)
class Raiser:
    """Finds what would raise the parts of one list; `lots` are the weights of its piles, in grams."""

    grader: Grader
    prices: PriceList
    lots: Mapping[str, Decimal]

    def raises(
        self, observed: Observed, reading: Reading, grade: str, *, grams: Decimal, count: int
    ) -> tuple[Raise, ...]:
        """The single preparations that lead from `grade` to one that pays more, best per hour first."""
        now = self._likely(grade, grams, ZERO)
        if now is None:
            return ()
        found: list[tuple[Decimal, Raise]] = []
        for preparation in self.grader.preparations(reading):
            after = self.grader.grade(prepared(observed, preparation))
            if not isinstance(after, Graded) or after.grade == grade:
                continue
            then = self._after(preparation, after.grade, grams)
            gain = None if then is None else round_money(ROUNDING.subtract(then, now), self.prices.currency)
            if gain is None or gain <= 0:
                continue
            pieces = Decimal(count) if preparation.per == "piece" else EXACT.divide(grams, KILOGRAM)
            found.append(
                self._raise(preparation, after.grade, gain, EXACT.multiply(preparation.minutes, pieces))
            )
        found.sort(key=lambda ranked: (-ranked[0], ranked[1].preparation))
        return tuple(raised for _, raised in found)

    def _after(self, preparation: Preparation, grade: str, grams: Decimal) -> Decimal | None:
        """What the part comes to when prepared: what is kept, and what was shed where that has a price."""
        kept = EXACT.multiply(grams, 1 - preparation.sheds_share)
        amount = self._likely(grade, kept, kept)
        if amount is None or preparation.sheds_grade is None:
            return amount
        shed = EXACT.subtract(grams, kept)
        return ROUNDING.add(amount, self._likely(preparation.sheds_grade, shed, shed) or ZERO)

    def _likely(self, grade: str, grams: Decimal, joining: Decimal) -> Decimal | None:
        """The likely amount, unrounded, of a weight sold with its pile, to which `joining` comes new."""
        price = self.prices.price(grade, EXACT.add(self.lots.get(grade, ZERO), joining))
        return None if price is None else amount_for(price.likely.price, price.likely.per_grams, grams)

    def _raise(
        self, preparation: Preparation, grade: str, gain: Decimal, minutes: Decimal
    ) -> tuple[Decimal, Raise]:
        hourly = ROUNDING.divide(EXACT.multiply(gain, MINUTES_AN_HOUR), minutes) if minutes else None
        per_hour = None if hourly is None else round_money(hourly, self.prices.currency)
        raised = Raise(
            preparation=preparation.id,
            name=preparation.name,
            how=preparation.how,
            minutes=trimmed(minutes.quantize(SHOWN_MINUTES, context=ROUNDING)),
            grade=grade,
            grade_name=self.grader.rulebook.grades[grade].name,
            gain=plain(gain),
            per_hour=None if per_hour is None else plain(per_hour),
            cautions=preparation.cautions,
        )
        return (FIRST if per_hour is None else per_hour), raised


def prepared(observed: Observed, preparation: Preparation) -> dict[str, Value]:
    """The observations after the work; what it makes unknown is left out."""
    after = {name: value for name, value in observed.items() if name not in preparation.changes}
    after.update((name, value) for name, value in preparation.changes.items() if value is not None)
    return after
