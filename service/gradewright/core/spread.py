"""Low and high: between which about half of what yards pay next lies.

A price that was seen is not a point. It may be read or rounded a little off, and yards change their boards:
so each claim stands for a span around it, anything in it as likely, `off_by` of its size to either side and
`per_day` more for each day since it was seen, `at_most` so much. Low and high are the quartiles of all spans
together. A yard weighs as much as it does for the likely price, whoever and however many posted: its claims
share that weight, so that where its witnesses differ it may pay either.

The quartiles of the yards' own prices hold too much where yards are few and do not change (all of it where
there are two), and too little where what is seen varies more than yards do. These come nearer to half in
both, where a yard has two witnesses or there are several yards. How far off a lone reading of a lone yard is
cannot be known: its span is that of a quiet board, and holds less where readings are noisy. A mixture of
uniform distributions, whose quantiles are exact; that it is used here is our own, common practice, no source.
A backtest measures how often it holds.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from functools import reduce
from operator import itemgetter
from typing import NamedTuple

from gradewright.core.decimals import EXACT, ROUNDING, trimmed_to
from gradewright.core.rates import Rate
from gradewright.core.rulebook import Spread

ZERO = Decimal(0)
QUARTER, THREE_QUARTERS = Decimal("0.25"), Decimal("0.75")
TWELVE_PLACES = Decimal("1E-12")
STEP = Decimal("0.000001")  # of a price as it is posted: what a shown price has too


Span = tuple[Decimal, Decimal, Decimal]
"""From where to where, and its weight."""

Step = tuple[Decimal, Decimal, Decimal, Decimal]
"""Where it is, the weight of the span that begins there, how much of that stands there, and how much more
weight comes with each unit from there on."""


class Voice(NamedTuple):
    """A claim with its part of its yard's weight, and how many days ago it was seen."""

    rate: Rate
    weight: Decimal
    age: int


def low_and_high(voices: Sequence[Voice], rules: Spread, likely: Rate) -> tuple[Rate, Rate]:
    """The quartiles of what the yards may pay by now, to six places, for the mass of the likely price.

    Low is never above it and high never below: it is a median of medians, which can lie outside of the
    quartiles of all claims.
    """
    return between(steps_of(spans_of(voices, rules, likely.per_grams)), likely)


def spans_of(voices: Sequence[Voice], rules: Spread, per_grams: Decimal) -> list[Span]:
    """Around each claim what it may stand for, in prices for so many grams."""
    spans = []
    for rate, weight, age in voices:
        price = rate.price if rate.per_grams == per_grams else rate.per(per_grams)
        price = price.quantize(TWELVE_PLACES, context=ROUNDING)
        off = EXACT.multiply(abs(price), width(age, rules))
        spans.append((EXACT.subtract(price, off), EXACT.add(price, off), weight))
    return spans


def between(steps: Sequence[Step], likely: Rate) -> tuple[Rate, Rate]:
    """Low and high of claims whose steps are in prices for the mass of the likely price."""
    found = _reached(steps, (QUARTER, THREE_QUARTERS))
    low, high = (trimmed_to(price.quantize(STEP, context=ROUNDING), likely.price) for price in found)
    return (
        Rate(low, likely.per_grams) if low < likely.price else likely,
        Rate(high, likely.per_grams) if high > likely.price else likely,
    )


def width(age: int, rules: Spread) -> Decimal:
    """How far a price that old may be off to either side, as a share of it."""
    return min(rules.at_most, EXACT.add(rules.off_by, EXACT.multiply(rules.per_day, Decimal(age))))


def quantile(spans: Iterable[Span], share: Decimal) -> Decimal:
    """The point below which so much of the spans' weight lies; of several such points the lowest."""
    return quantiles(spans, (share,))[0]


def quantiles(spans: Iterable[Span], shares: Sequence[Decimal]) -> list[Decimal]:
    """Several, ascending, in one pass."""
    return _reached(steps_of(spans), shares)


def steps_of(spans: Iterable[Span]) -> list[Step]:
    """Where each span begins and ends, for all of them to be put in order together."""
    steps: list[Step] = []
    for left, right, weight in spans:
        if left == right:
            steps.append((left, weight, weight, ZERO))
            continue
        slope = ROUNDING.divide(weight, EXACT.subtract(right, left))
        steps.append((left, weight, ZERO, slope))
        steps.append((right, ZERO, ZERO, -slope))
    return steps


def _reached(steps: Sequence[Step], shares: Sequence[Decimal]) -> list[Decimal]:
    add, multiply, subtract = ROUNDING.add, ROUNDING.multiply, EXACT.subtract
    total = reduce(EXACT.add, [step[1] for step in steps], ZERO)
    found: list[Decimal] = []
    wanted = [EXACT.multiply(share, total) for share in shares]
    reached = slope_now = at = ZERO
    for where, _, weight, slope in sorted(steps, key=itemgetter(0)):
        risen = add(reached, multiply(slope_now, subtract(where, at)))
        while wanted and slope_now > 0 and risen >= wanted[0]:
            needed = ROUNDING.subtract(wanted.pop(0), reached)
            found.append(add(at, ROUNDING.divide(needed, slope_now)))
        reached, at = add(risen, weight) if weight else risen, where
        while wanted and reached >= wanted[0]:
            wanted.pop(0)
            found.append(at)
        if not wanted:
            return found
        slope_now = add(slope_now, slope)
    return [*found, *(at for _ in wanted)]  # all of the weight, but for what was rounded away
