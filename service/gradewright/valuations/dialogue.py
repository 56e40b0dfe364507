"""What to find out next about one part, or that it is not worth it, as a grading tells it."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from gradewright.core.alike import ALIKE, Alike, alike
from gradewright.core.at_stake import HOUR, AtStake, usual_hour
from gradewright.core.decimals import EXACT, ROUNDING
from gradewright.core.grading import Grader, Reading
from gradewright.core.money import minor_as_decimal, minor_per_unit
from gradewright.core.observations import Attribute
from gradewright.core.pricelist import PriceList
from gradewright.core.rulebook import Caution
from gradewright.core.units import plain, trimmed
from gradewright.core.weighing import Saving, Weighing, too_little, whole
from gradewright.valuations.weights import KILOGRAM, Weight, weigh

HUNDREDTH = Decimal("0.01")
A_KILOGRAM = weigh("1 kg", 1)
ANY_SHARE = Decimal(2)
"""Prices always lie within such a share of the larger of them, even where one is a charge."""


@dataclass(frozen=True, slots=True)
class Terms:
    """When asking stops: where prices are alike, or, with an hourly rate, where a part of that weight is not
    worth the minutes.
    """

    alike_within: Decimal = ALIKE
    weight: Weight = A_KILOGRAM
    hour_rate: Decimal | None = None


USUAL = Terms()


@dataclass(frozen=True, slots=True)
class NotWorth:
    """Why it is not worth it: prices per one of the list's unit, shares of the dearest.

    Either they lie `within` a share, or, of that `weight`, finding out adds less on average than it costs.
    """

    cheapest: str
    dearest: str
    lowest: str
    highest: str
    spread: str
    per: str
    share: str
    within: str | None
    weight: str | None = None
    adds: str | None = None
    minutes: str | None = None
    costs: str | None = None


@dataclass(frozen=True, slots=True)
class Onward:
    """How the dialogue goes on: by a test, perhaps only for the sake of cautions; or not, for a reason.

    `beside_the_grade`: only for their sake as no test that can be made settles the grade; `too_dear`: as all
    others cost more than they add. `at_best`: what is not worth it adds no more, and takes no less.
    """

    test: Attribute | None = None
    not_worth: NotWorth | None = None
    in_doubt: tuple[Caution, ...] = ()
    beside_the_grade: bool = False
    too_dear: bool = False
    at_best: bool = False

    def says(self, currency: str | None) -> str:
        """In a sentence or two for people."""
        if self.not_worth is not None:
            found = self.not_worth
            if found.within is None:
                takes = f"{found.minutes} min{' or more' if self.at_best else ''}"
                return (
                    f"Finding out which is not worth it: it adds {found.adds} {currency} on average to "
                    f"{found.weight}, and takes {takes}, which cost {found.costs} {currency} at that rate."
                )
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
        why = "Finding out costs more than it adds" if self.too_dear else "The prices are nearly the same"
        return f"{why}, but what is not known decides on a danger ({named}). {asks}"


def onward(
    grader: Grader, reading: Reading, prices: PriceList | None, terms: Terms, skip: Collection[str]
) -> Onward:
    """What to do about an undecided part."""
    worth = prices.worth() if prices is not None else {}
    too_dear = terms.hour_rate is not None
    weighing = Weighing(grader, worth, stops=too_dear, within=terms.alike_within, beyond_rules=True)
    found = weighing.not_worth(reading)
    if found is not None and prices is not None:
        return Onward(not_worth=_shown(found, prices))
    stake = None if prices is None else _at_stake(prices, terms)
    test, stop, in_doubt = weighing.onward(reading, stake, skip)
    if stop is not None and stake is not None and prices is not None:
        ends = grader.prospects.ends(reading.possible, reading.known)
        return Onward(not_worth=_too_little(stake, stop, ends, prices, terms), at_best=stop.at_best)
    beside = weighing.beside_the_grade(reading, skip) if test is not None and not in_doubt else ()
    return Onward(test, None, in_doubt or beside, bool(beside), too_dear)


def _at_stake(prices: PriceList, terms: Terms) -> AtStake | None:
    """What the part pays as each grade, in minor units; None where nothing says what an hour is worth."""
    worth = prices.worth()
    hour = usual_hour(worth) if terms.hour_rate is None else Fraction(terms.hour_rate)
    if hour is None:
        return None
    minor, kilograms = minor_per_unit(prices.currency), Fraction(terms.weight.grams) / Fraction(KILOGRAM)
    pays = {grade: Fraction(paid) * kilograms * minor for grade, paid in worth.items()}
    return AtStake(pays, hour * minor / HOUR)


def _too_little(
    stake: AtStake, stop: Saving, ends: Collection[str | None], prices: PriceList, terms: Terms
) -> NotWorth:
    worth, minor = prices.worth(), minor_per_unit(prices.currency)
    kilograms = Fraction(terms.weight.grams) / Fraction(KILOGRAM)
    pays = {grade: whole(Fraction(worth[grade]) * kilograms * minor) for grade in ends if grade is not None}
    found, near = too_little(pays, stake, stop), alike(ends, worth, ANY_SHARE)
    if near is None:
        raise AssertionError("it never stops where a grade has no price")
    adds, costs = (plain(minor_as_decimal(of, prices.currency)) for of in (found.adds, found.costs))
    return replace(
        _shown(near, prices),
        within=None,
        weight=terms.weight.given,
        adds=adds,
        minutes=trimmed(found.minutes),
        costs=costs,
    )


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
