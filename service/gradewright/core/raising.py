"""What would raise a part's grade by method 1: each preparation by itself, what it adds, and that per hour.

Kept answers rest on it: nothing here may change. Later methods look at sequences: see `core.worthwhile`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

from gradewright.core.decimals import EXACT
from gradewright.core.description import Step
from gradewright.core.money import TO_WHOLE, Rounding
from gradewright.core.pricelist import PriceList
from gradewright.core.rates import Ratio
from gradewright.core.rulebook import Preparation

Lot = Callable[[str], Decimal]
MINUTES_AN_HOUR = 60
KILOGRAM = Decimal(1000)
_to_whole = TO_WHOLE[Rounding.HALF_EVEN]


@dataclass(frozen=True, slots=True)
class Raised:
    """A step that pays: what it adds in all and per hour (None: in no time), in minor units; its minutes."""

    step: Step
    gain: int
    minutes: Decimal
    per_hour: int | None

    @property
    def preparations(self) -> tuple[Preparation, ...]:
        """The work: one preparation."""
        return (self.step.preparation,)


def raises(
    steps: tuple[Step, ...],
    prices: PriceList,
    lot: Lot,
    *,
    now: Ratio,
    grams: Decimal,
    count: int,
) -> tuple[Raised, ...]:
    """The steps that lead to a better price than `now` (minor units, unrounded), best per hour first.

    `lot` tells the grams of a grade in the list: what is raised joins the pile of its new grade.
    """
    found: list[Raised] = []
    paid, paid_under = now
    for step in steps:
        after = _after(step, prices, lot, grams)
        if after is None:
            continue
        then, then_under = after
        gain = _to_whole(then * paid_under - paid * then_under, then_under * paid_under)
        if gain <= 0:
            continue
        minutes = _minutes(step.preparation, grams, count)
        time, time_under = minutes.as_integer_ratio()
        per_hour = _to_whole(gain * MINUTES_AN_HOUR * time_under, time) if time else None
        found.append(Raised(step, gain, minutes, per_hour))
    found.sort(key=_best_first)
    return tuple(found)


def _best_first(raised: Raised) -> tuple[bool, int, str]:
    per_hour = raised.per_hour
    return per_hour is not None, -per_hour if per_hour is not None else 0, raised.step.preparation.id


def _minutes(preparation: Preparation, grams: Decimal, count: int) -> Decimal:
    pieces = Decimal(count) if preparation.per == "piece" else EXACT.divide(grams, KILOGRAM)
    return EXACT.multiply(preparation.minutes, pieces)


def _after(step: Step, prices: PriceList, lot: Lot, grams: Decimal) -> Ratio | None:
    """What the part comes to when prepared: what is kept, and what was shed where that has a price."""
    preparation = step.preparation
    comes_off = [(shed.grade, EXACT.multiply(grams, shed.share)) for shed in preparation.sheds]
    left = grams
    for _, off in comes_off:
        left = EXACT.subtract(left, off)
    paid = _likely(step.grade, prices, lot, left)
    for grade, off in comes_off:
        shed = _likely(grade, prices, lot, off) if paid is not None and grade is not None else None
        if paid is not None and shed is not None:
            paid = paid[0] * shed[1] + shed[0] * paid[1], paid[1] * shed[1]
    return paid


def _likely(grade: str, prices: PriceList, lot: Lot, grams: Decimal) -> Ratio | None:
    """The likely amount, in minor units and unrounded, of a weight that joins the pile of its grade."""
    price = prices.price(grade, EXACT.add(lot(grade), grams))
    if price is None:
        return None
    mass, parts = grams.as_integer_ratio()
    return price.scale.likely * mass, price.scale.under * parts
