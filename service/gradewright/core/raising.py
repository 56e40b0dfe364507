"""What would raise a part's grade: each preparation that applies, what it adds, and what it adds per hour."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from gradewright.core.decimals import EXACT, ROUNDING
from gradewright.core.description import Step
from gradewright.core.money import amount_for, round_money
from gradewright.core.pricelist import PriceList
from gradewright.core.rulebook import Preparation

ZERO = Decimal(0)
MINUTES_AN_HOUR = Decimal(60)
KILOGRAM = Decimal(1000)


@dataclass(frozen=True, slots=True)
class Raised:
    """A step that pays: money gained in all and per hour (None: in no time), and the minutes it takes."""

    step: Step
    gain: Decimal
    minutes: Decimal
    per_hour: Decimal | None


def raises(
    steps: tuple[Step, ...],
    prices: PriceList,
    lots: Mapping[str, Decimal],
    *,
    now: Decimal,
    grams: Decimal,
    count: int,
) -> tuple[Raised, ...]:
    """The steps that lead to a better price than `now` (an amount, unrounded), best per hour first.

    `lots` are the weights of the list's piles in grams: what is raised joins the pile of its new grade.
    """
    found: list[Raised] = []
    for step in steps:
        then = _after(step, prices, lots, grams)
        gain = None if then is None else round_money(ROUNDING.subtract(then, now), prices.currency)
        if gain is None or gain <= 0:
            continue
        minutes = _minutes(step.preparation, grams, count)
        hourly = ROUNDING.divide(EXACT.multiply(gain, MINUTES_AN_HOUR), minutes) if minutes else None
        per_hour = None if hourly is None else round_money(hourly, prices.currency)
        found.append(Raised(step, gain, minutes, per_hour))
    found.sort(key=_best_first)
    return tuple(found)


def _best_first(raised: Raised) -> tuple[bool, Decimal, str]:
    per_hour = raised.per_hour
    return per_hour is not None, -per_hour if per_hour is not None else ZERO, raised.step.preparation.id


def _minutes(preparation: Preparation, grams: Decimal, count: int) -> Decimal:
    pieces = Decimal(count) if preparation.per == "piece" else EXACT.divide(grams, KILOGRAM)
    return EXACT.multiply(preparation.minutes, pieces)


def _after(step: Step, prices: PriceList, lots: Mapping[str, Decimal], grams: Decimal) -> Decimal | None:
    """What the part comes to when prepared: what is kept, and what was shed where that has a price."""
    preparation = step.preparation
    off = EXACT.multiply(grams, preparation.sheds_share)
    amount = _likely(step.grade, prices, lots, EXACT.subtract(grams, off))
    if amount is None or preparation.sheds_grade is None:
        return amount
    shed = _likely(preparation.sheds_grade, prices, lots, off)
    return ROUNDING.add(amount, shed or ZERO)


def _likely(grade: str, prices: PriceList, lots: Mapping[str, Decimal], grams: Decimal) -> Decimal | None:
    """The likely amount, unrounded, of a weight that joins the pile of its grade."""
    price = prices.price(grade, EXACT.add(lots.get(grade, ZERO), grams))
    return None if price is None else amount_for(price.likely.price, price.likely.per_grams, grams)
