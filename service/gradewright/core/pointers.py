"""What would pay beside a valuation: taking a part apart, or holding a pile until it reaches a better price.

Taking apart: a part whose kind people have taken apart, and recorded, is worth what its typical parts would
pay, each with the pile of its grade, less what it pays whole; the time is the typical one for each piece.
What has no price is counted as nothing, and named. Holding: a yard that pays better from a weight on, which
the pile is short of by no more than `WITHIN` of itself; the gain is what the present weight would pay more.
That bound, and that no more than `MOST` are told, is our own: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from gradewright.core.better import Step, exact
from gradewright.core.composition import Typical
from gradewright.core.decimals import EXACT
from gradewright.core.money import minor_per_unit
from gradewright.core.pricelist import PriceList
from gradewright.core.rulebook import Caution

MOST = 5
WITHIN = Fraction(1, 2)
ZERO, HOUR = Fraction(0), 60
NO_LOT, ANY_LOT = Decimal(0), Decimal(10) ** 15


@dataclass(frozen=True, slots=True)
class Opened:
    """A kind of device that people have taken apart, and what can hurt whoever does."""

    slug: str
    typical: Typical
    cautions: tuple[Caution, ...] = ()


@dataclass(frozen=True, slots=True)
class Whole:
    """A part that could be taken apart: its place in the list, what it weighs and pays in minor units."""

    number: int
    name: str
    pieces: int
    grams: Decimal
    grade: str
    pays: int
    kind: Opened


@dataclass(frozen=True, slots=True)
class TakeApart:
    """A part that pays more apart: the gain in minor units, the minutes, and the gain in an hour of them.

    `unpriced`: grades that come out of it, have no price here and are counted as nothing.
    """

    whole: Whole
    gain: int
    minutes: Fraction
    an_hour: int
    unpriced: tuple[str, ...] = ()


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
    grades that pay better in larger lots; and the grades that have no price here.
    """

    a_gram: Fraction
    by_lot: tuple[tuple[str, Fraction], ...]
    unpriced: tuple[str, ...]


Worths = dict[str, Worth]
"""What is remembered of one price list, by kinds: no answer changes by it, only how soon it is there."""


def pointers(
    wholes: Iterable[Whole],
    piles: Mapping[str, Decimal],
    prices: PriceList,
    worths: Worths | None = None,
    hour_rate: Decimal | None = None,
) -> tuple[Pointer, ...]:
    """What would pay, the largest gain first. `piles`: the grams of each grade; `hour_rate`: what an hour is
    worth, so that no work is pointed at that brings less.
    """
    known = {} if worths is None else worths
    least = Fraction(hour_rate or 0) * minor_per_unit(prices.currency)
    opened = (
        each for each in _apart(wholes, piles, prices, known) if each.gain * HOUR >= least * each.minutes
    )
    found: list[Pointer] = [*opened, *_held(piles, prices)]
    return tuple(sorted(found, key=_most_first)[:MOST])


def _apart(
    wholes: Iterable[Whole], piles: Mapping[str, Decimal], prices: PriceList, known: Worths
) -> Iterator[TakeApart]:
    per_unit = minor_per_unit(prices.currency)
    for whole in wholes:
        typical = whole.kind.typical
        if typical.minutes is None or not typical.minutes.likely:
            continue
        worth = known.get(whole.kind.slug)
        if worth is None:
            worth = known[whole.kind.slug] = _worth(typical, prices, per_unit)
        grams, unpriced = Fraction(whole.grams), list(worth.unpriced)
        pays = worth.a_gram * grams
        for grade, share in worth.by_lot:
            own = share * grams
            price = prices.price(grade, EXACT.add(piles.get(grade, NO_LOT), Decimal(int(own))))
            if price is None:
                unpriced.append(grade)
            else:
                pays += own * exact(price.likely, per_unit)
        gain = round(pays - whole.pays)
        if gain > 0:
            minutes = typical.minutes.likely * whole.pieces
            yield TakeApart(whole, gain, minutes, round(gain * HOUR / minutes), tuple(unpriced))


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
    """Of each pile the one step that is within reach and gains most."""
    per_unit = minor_per_unit(prices.currency)
    for grade, grams in piles.items():
        best: Hold | None = None
        for step in prices.better.get(grade, ()):
            short = EXACT.subtract(step.from_grams, grams)
            if short <= 0 or Fraction(short) > WITHIN * Fraction(grams):
                continue
            more = exact(step.after, per_unit) - exact(step.before, per_unit)
            gain = round(more * Fraction(grams))
            if gain > 0 and (best is None or (gain, -short) > (best.gain, -best.short)):
                best = Hold(grade, short, gain, step)
        if best is not None:
            yield best


def _most_first(pointer: Pointer) -> tuple[int, int, str]:
    if isinstance(pointer, TakeApart):
        return -pointer.gain, 0, str(pointer.whole.number)
    return -pointer.gain, 1, pointer.grade
