"""What would pay beside a valuation: taking a part apart, or holding a pile until it reaches a better price.

Taking apart: a part whose kind people have taken apart, and recorded, is worth what its typical parts would
pay, each with the pile of its grade, less what it pays whole; the time is the typical one for each piece.
What has no price is counted as nothing, and named. Holding: a yard that pays better from a weight on, which
the pile is short of by no more than `WITHIN` of itself; the gain is what the present weight would pay
more than the best yard pays for it now.
What weighs far more than one device of its kind, by what was recorded of it, and is told as one, is taken for
as many as weigh that: a bin of motors is no motor. What weighs otherwise far more or less than any is not
pointed at, as nobody has recorded the like.
That bound, and that no more than `MOST` are told, is our own: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from math import floor
from operator import itemgetter
from typing import NamedTuple

from gradewright.core.better import Step, exact
from gradewright.core.composition import Typical
from gradewright.core.decimals import EXACT
from gradewright.core.money import TO_WHOLE, Rounding, minor_per_unit
from gradewright.core.pricelist import Price, PriceList
from gradewright.core.rates import Ratio
from gradewright.core.rulebook import Caution
from gradewright.core.unusual import Recorded

MOST = 5
WITHIN = Fraction(1, 2)
ZERO, HOUR = Fraction(0), 60
_TO_WHOLE = TO_WHOLE[Rounding.HALF_EVEN]
NO_LOT, ANY_LOT = Decimal(0), Decimal(10) ** 15


@dataclass(frozen=True, slots=True)
class Opened:
    """A kind of device that people have taken apart, and what can hurt whoever does. `weighs`: what such
    devices weigh; None: whatever it is. `licensed`: only those do who hold a licence. `by_each`: what is told
    to weigh so much each is as many as was told.
    """

    slug: str
    typical: Typical
    cautions: tuple[Caution, ...] = ()
    weighs: Recorded | None = None
    licensed: bool = False
    by_each: bool = False

    def pieces(self, grams: Ratio, told: int, *, each: bool = False) -> int | None:
        """How many devices a part of such a weight is; None where it is none that anybody has recorded.
        `each`: the weight of one was told.
        """
        if self.weighs is None:
            return told
        mass, parts = grams
        one = Fraction(mass, parts * told)
        if (each and self.by_each) or not self.weighs.unlike(one):
            return told
        return self.weighs.about(one) if one > self.weighs.most and told == 1 else None

    def unlike(self, grams: Ratio, told: int) -> Recorded | None:
        """What was recorded, where one of so many weighs far more or less than that."""
        mass, parts = grams
        found = self.weighs
        return found if found is not None and found.unlike(Fraction(mass, parts * told)) else None


class Whole(NamedTuple):
    """A part that could be taken apart: its place in the list, what it weighs and pays in minor units.

    `grams`: as whole numbers, the first divided by the second. `each`: the weight of one was told.
    """

    number: int
    name: str
    pieces: int
    grams: Ratio
    pays: int
    kind: Opened
    each: bool = False


@dataclass(frozen=True, slots=True)
class TakeApart:
    """A part that pays more apart: the gain in minor units, the minutes, and the gain in an hour of them.

    `unpriced`: grades that come out of it, have no price here and are counted as nothing. `about`: as how
    many devices it counts by its weight, where that is no weight of one.
    """

    whole: Whole
    gain: int
    minutes: Fraction
    an_hour: int
    unpriced: tuple[str, ...] = ()
    about: int | None = None


@dataclass(frozen=True, slots=True)
class Hold:
    """A pile that is short of a yard's better price, by so many grams; the gain in minor units."""

    grade: str
    short: Decimal
    gain: int
    step: Step


Pointer = TakeApart | Hold


@dataclass(frozen=True, slots=True)
class Worth:
    """What a gram of a kind pays apart in minor units, as far as that is the same for any lot; the shares of
    grades that pay better in larger lots; and the grades that have no price here. `sums`: with the prices of
    those lots, by these.
    """

    a_gram: Fraction
    by_lot: tuple[tuple[str, Fraction], ...]
    unpriced: tuple[str, ...]
    sums: dict[tuple[Price | None, ...], tuple[int, int, tuple[str, ...]]] = field(default_factory=dict)

    def at(self, prices: tuple[Price | None, ...], per_unit: int) -> tuple[int, int, tuple[str, ...]]:
        """What a gram pays, as whole numbers, and what is not counted, at the prices of the lots in order."""
        found = self.sums.get(prices)
        if found is None:
            total, unpriced = self.a_gram, list(self.unpriced)
            for (grade, share), price in zip(self.by_lot, prices, strict=True):
                if price is None:
                    unpriced.append(grade)
                else:
                    total += share * exact(price.likely, per_unit)
            found = self.sums[prices] = (*total.as_integer_ratio(), tuple(unpriced))
        return found


Worths = dict[str, Worth]
"""What is remembered of one price list, by kinds: no answer changes by it, only how soon it is there."""


def pointers(
    wholes: Iterable[Whole],
    piles: Mapping[str, Decimal],
    prices: PriceList,
    worths: Worths | None = None,
    hour_rate: Decimal | None = None,
    *,
    nearest: bool = False,
) -> tuple[Pointer, ...]:
    """What would pay, the largest gain first. `piles`: the grams of each grade; `hour_rate`: what an hour is
    worth, so that no work is pointed at that brings less; `nearest`: the gain in an hour is the nearest one.
    """
    known = {} if worths is None else worths
    found: list[Pointer] = [*_apart(wholes, piles, prices, known, hour_rate, nearest), *_held(piles, prices)]
    return tuple(sorted(found, key=_most_first)[:MOST])


def _apart(
    wholes: Iterable[Whole],
    piles: Mapping[str, Decimal],
    prices: PriceList,
    known: Worths,
    hour_rate: Decimal | None,
    nearest: bool,
) -> Iterator[TakeApart]:
    """The `MOST` parts that gain most: in whole numbers, as scripts send thousands."""
    per_unit = minor_per_unit(prices.currency)
    least = Fraction(hour_rate or 0) * per_unit
    found: list[tuple[int, int, Whole, tuple[str, ...]]] = []
    for whole in wholes:
        minutes = whole.kind.typical.minutes
        if minutes is None or not minutes.likely:
            continue
        pieces = whole.kind.pieces(whole.grams, whole.pieces, each=whole.each)
        if pieces is None:
            continue
        worth = known.get(whole.kind.slug)
        if worth is None:
            worth = known[whole.kind.slug] = _worth(whole.kind.typical, prices, per_unit)
        mass, parts = whole.grams
        lots = tuple(
            prices.price(
                grade,
                EXACT.add(
                    piles.get(grade, NO_LOT), Decimal(share.numerator * mass // (share.denominator * parts))
                ),
            )
            for grade, share in worth.by_lot
        )
        over, under, unpriced = worth.at(lots, per_unit)
        gain = _TO_WHOLE(over * mass - whole.pays * under * parts, under * parts)
        if gain > 0 and (not least or gain * HOUR >= least * minutes.likely * pieces):
            found.append((-gain, whole.number, whole, unpriced))
    for gain, _, whole, unpriced in sorted(found, key=itemgetter(0, 1))[:MOST]:
        likely = whole.kind.typical.minutes
        if likely is not None:
            pieces = whole.kind.pieces(whole.grams, whole.pieces, each=whole.each) or whole.pieces
            minutes_of_all = likely.likely * pieces
            an_hour = -gain * HOUR / minutes_of_all  # rounded down it is a rate at which it still pays
            told = round(an_hour) if nearest else floor(an_hour)
            about = pieces if pieces != whole.pieces else None
            yield TakeApart(whole, -gain, minutes_of_all, told, unpriced, about)


def _worth(typical: Typical, prices: PriceList, per_unit: int) -> Worth:
    """What the typical parts of a kind pay by a price list."""
    a_gram, by_lot, unpriced = ZERO, [], []
    for part in typical.parts:
        if part.share is None or not part.share.likely:
            continue
        share = part.share.likely
        if part.grade not in prices.rulebook.grades:
            unpriced.append(part.grade)
            continue
        price = prices.price(part.grade, NO_LOT)
        if price is not prices.price(part.grade, ANY_LOT):
            by_lot.append((part.grade, share))
        elif price is None:
            unpriced.append(part.grade)
        else:
            a_gram += share * exact(price.likely, per_unit)
    return Worth(a_gram, tuple(by_lot), tuple(unpriced))


def _held(piles: Mapping[str, Decimal], prices: PriceList) -> Iterator[Hold]:
    """Of each pile the one step that is within reach and gains most over what the best yard pays now."""
    per_unit = minor_per_unit(prices.currency)
    for grade, grams in piles.items():
        ahead = [step for step in prices.better.get(grade, ()) if step.from_grams > grams]
        within = [
            step
            for step in ahead
            if Fraction(EXACT.subtract(step.from_grams, grams)) <= WITHIN * Fraction(grams)
        ]
        if within:
            step = within[-1]  # each pays more than those before it
            more = exact(step.after, per_unit) - exact(ahead[0].before, per_unit)
            gain = round(more * Fraction(grams))
            if gain > 0:
                yield Hold(grade, EXACT.subtract(step.from_grams, grams), gain, step)


def _most_first(pointer: Pointer) -> tuple[int, int, str]:
    if isinstance(pointer, TakeApart):
        return -pointer.gain, 0, f"{pointer.whole.number:06}"
    return -pointer.gain, 1, pointer.grade
