"""What to find out next about one part, or that it is not worth it, as a grading tells it."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from decimal import Decimal

from gradewright.core.alike import Alike
from gradewright.core.decimals import EXACT, ROUNDING
from gradewright.core.grading import Grader, Reading
from gradewright.core.observations import Attribute
from gradewright.core.pricelist import PriceList
from gradewright.core.questions import Questioner
from gradewright.core.rulebook import Caution
from gradewright.core.units import plain, trimmed

HUNDREDTH = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class NotWorth:
    """That all candidates pay nearly the same: prices per one of the list's unit, shares of the dearest."""

    cheapest: str
    dearest: str
    lowest: str
    highest: str
    spread: str
    per: str
    share: str
    within: str


@dataclass(frozen=True, slots=True)
class Onward:
    """How the dialogue goes on: by a test, perhaps only for the sake of cautions; or not, for a reason.

    `beside_the_grade`: only for their sake as no test that can be made settles the grade.
    """

    test: Attribute | None = None
    not_worth: NotWorth | None = None
    in_doubt: tuple[Caution, ...] = ()
    beside_the_grade: bool = False

    def says(self, currency: str | None) -> str:
        """In a sentence or two for people."""
        if self.not_worth is not None:
            found = self.not_worth
            paid = f"{found.lowest} {currency}"
            if found.lowest != found.highest:
                paid = f"between {found.lowest} and {found.highest} {currency}"
            near = f"that is {found.share} of the dearest" if found.lowest != found.highest else "all alike"
            return f"Finding out which is not worth it: each pays {paid} per {found.per} here, {near}."
        asks = self.test.asks if self.test is not None else "Nothing more can be asked."
        if not self.in_doubt:
            return asks
        named = ", ".join(caution.name for caution in self.in_doubt)
        if self.beside_the_grade:
            return f"Nothing that can be told settles the grade, but a danger depends on it ({named}). {asks}"
        return f"The prices are nearly the same, but what is not known decides on a danger ({named}). {asks}"


def onward(
    grader: Grader, reading: Reading, prices: PriceList | None, within: Decimal, skip: Collection[str]
) -> Onward:
    """What to do about an undecided part."""
    questioner = Questioner(grader, prices.worth() if prices is not None else {}, within=within)
    found = questioner.not_worth(reading)
    if found is not None and prices is not None:
        return Onward(not_worth=_shown(found, prices))
    test, in_doubt = questioner.next_test(reading, skip), questioner.in_doubt(reading)
    beside = questioner.beside_the_grade(reading, skip) if test is not None else ()
    return Onward(test, in_doubt=in_doubt or beside, beside_the_grade=bool(beside))


def _shown(found: Alike, prices: PriceList) -> NotWorth:
    cheapest, dearest = (prices.price(grade) for grade in (found.cheapest, found.dearest))
    if cheapest is None or dearest is None:
        raise AssertionError("grades without a price are never alike")
    low, high = cheapest.shown, dearest.shown
    spread = EXACT.subtract(Decimal(high.likely), Decimal(low.likely))
    share, within = (percent(part) for part in (found.share, found.within))
    return NotWorth(
        found.cheapest, found.dearest, low.likely, high.likely, plain(spread), low.per, share, within
    )


def percent(share: Decimal) -> str:
    """A share in percent, to two places: "4.75 %"."""
    in_percent = ROUNDING.multiply(share, 100)
    return f"{trimmed(in_percent.quantize(HUNDREDTH, context=ROUNDING))} %"
