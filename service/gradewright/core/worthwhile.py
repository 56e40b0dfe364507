"""Which sequences of work pay, at the prices of one list: none that adds less for more work than another.

Amounts are worked out exactly and rounded once, to what can be paid; sequences are compared by that and by
their exact minutes. What is kept joins the pile of its new grade and what is taken off that of its own, so
that from-weights count; the part itself has left the pile that it was in.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from gradewright.core.decimals import ROUNDING
from gradewright.core.money import TO_WHOLE, Rounding
from gradewright.core.pricelist import Price, PriceList
from gradewright.core.rates import Ratio
from gradewright.core.routes import Route, Routes, Time
from gradewright.core.rulebook import Preparation

Lot = Callable[[str], Decimal]
MINUTES_AN_HOUR = 60
MOST_TOLD = 5
NOTHING: Ratio = (0, 1)
_to_whole = TO_WHOLE[Rounding.HALF_EVEN]


class Lump(NamedTuple):
    """The weight that is worked on: in grams, as whole numbers too; of so many pieces. `about`: as how many
    it counts by its weight, where that is not what was told.
    """

    grams: Decimal
    ratio: Ratio
    pieces: int
    about: int | None = None


class Worthwhile(NamedTuple):
    """A sequence that pays: what it adds in all, in minor units; its minutes; the prices of its piles."""

    route: Route
    lump: Lump
    gain: int
    minutes: Ratio
    prices: Sequence[Price | None]
    best_by_the_hour: bool = True
    best_in_all: bool = True

    @property
    def preparations(self) -> tuple[Preparation, ...]:
        """The work, in its order."""
        return self.route.steps

    @property
    def per_hour(self) -> int | None:
        """What it adds per hour, in minor units; None where it takes no time."""
        time, under = self.minutes
        return _to_whole(self.gain * MINUTES_AN_HOUR * under, time) if time else None

    def shed(self) -> list[int | None]:
        """The likely amount of what is taken off, in the order of the route; None: it has no price."""
        price_of = {pile[0]: price for pile, price in zip(self.route.piles, self.prices, strict=True)}
        mass, parts = self.lump.ratio
        return [
            _to_whole(
                price.scale.likely * share.numerator * mass, price.scale.under * share.denominator * parts
            )
            if (price := price_of[grade]) is not None
            else None
            for grade, share in self.route.shed
        ]

    @property
    def about(self) -> int | None:
        """Of how many pieces its minutes are, where that is not what was told; None too where they go by
        weight alone.
        """
        return self.lump.about if self.route.a_piece else None

    def minutes_of(self) -> list[Ratio]:
        """How long each step takes."""
        times = self.route.times
        return [self.minutes] if len(times) == 1 else [_minutes(time, self.lump) for time in times]


def worthwhile(
    routes: Routes, prices: PriceList, lot: Lot, *, now: Ratio | None, lump: Lump, stays: str = ""
) -> tuple[Worthwhile, ...]:
    """The sequences that come to more than `now` (minor units, unrounded), best per hour first.

    `now` is None for a part whose grade, `stays`, has no price: all that is paid then counts, and it may stay
    what it is where what comes off is paid for. Work that makes another grade without a price of it is left
    out: nobody knows whether that is better.

    One that adds no more than another that takes no longer is left out. Of more than five those that add the
    most in an hour are told, and always the one that adds the most in all. `lot` tells the grams of a grade
    in the list without this part. Where not all sequences were tried, none is said to be best.
    """
    paying = [
        found
        for route in routes.routes
        if (found := _paying(route, prices, lot, now or NOTHING, lump, stays if now is None else None))
        is not None
    ]
    told = tuple(paying) if len(paying) < 2 else _best(paying)
    if not routes.whole:
        return tuple(each._replace(best_by_the_hour=False, best_in_all=False) for each in told)
    return told


def _best(paying: list[Worthwhile]) -> tuple[Worthwhile, ...]:
    paying.sort(key=_quickest_first)
    front: list[Worthwhile] = []
    for each in paying:
        if not front or each.gain > front[-1].gain:
            front.append(each)
    in_all = front[-1]
    front.sort(key=_best_first)
    told = front[:MOST_TOLD]
    if in_all not in told:
        told[-1] = in_all
    return tuple(
        each._replace(best_by_the_hour=each is front[0], best_in_all=each is in_all) for each in told
    )


def _quickest_first(each: Worthwhile) -> tuple[Fraction, int, int, list[str]]:
    ids = [step.id for step in each.preparations]
    return Fraction(*each.minutes), -each.gain, len(ids), ids


def _best_first(each: Worthwhile) -> tuple[bool, Fraction, int]:
    time, under = each.minutes
    return time != 0, Fraction(-each.gain * under, time) if time else Fraction(0), -each.gain


def _paying(
    route: Route, prices: PriceList, lot: Lot, now: Ratio, lump: Lump, stays: str | None
) -> Worthwhile | None:
    """What one sequence adds; None where it adds nothing, or what is kept would have no price, unless it
    `stays` what it is."""
    mass, parts = lump.ratio
    paid, under = now
    over = -paid
    found: list[Price | None] = []
    for grade, share, whole in route.piles:
        price = prices.for_any_lot(grade) or prices.price(
            grade, _joined(lot(grade), lump.grams, share, whole)
        )
        if price is not None:
            _, likely, _, divisor = price.scale
            divisor *= whole * parts
            over, under = over * divisor + likely * share * mass * under, under * divisor
        elif not found and grade != stays:
            return None
        found.append(price)
    gain = _to_whole(over, under)
    if gain <= 0:
        return None
    return Worthwhile(route, lump, gain, _minutes(route.time, lump), found)


def _minutes(time: Time, lump: Lump) -> Ratio:
    a_piece, a_gram, under = time
    _, (mass, parts), pieces, _ = lump
    return a_piece * pieces * parts + a_gram * mass, under * parts


def _joined(beside: Decimal, grams: Decimal, share: int, whole: int) -> Decimal:
    """The grams of a pile once the part's share is there; where it must be, rounded at the 100th digit."""
    return ROUNDING.add(beside, ROUNDING.divide(ROUNDING.multiply(grams, Decimal(share)), Decimal(whole)))
