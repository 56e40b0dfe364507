"""From what people saw at yards to one likely price, with its low and high, and what they rest on.

Each yard counts once, whoever and however many posted: its price is the weighted median of its authors'
newest sightings. The likely price is the weighted median over yards; low and high are the weighted
quartiles, by the inverted distribution function, so that every figure is a price that somebody saw
(Hyndman & Fan 1996, definition 1).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import lru_cache

from gradewright.core.decimals import EXACT, ROUNDING
from gradewright.core.rates import Rate
from gradewright.core.rulebook import Pricing

ONE = Decimal(1)
QUARTER, HALF, THREE_QUARTERS = Decimal("0.25"), Decimal("0.5"), Decimal("0.75")
WEIGHT_STEP = Decimal("1E-12")  # weights are compared at twelve places, so that they are the same everywhere


@dataclass(frozen=True, slots=True)
class Sighting:
    """One price as somebody saw it: a row of the ledger, as a value."""

    revision: int
    line: int
    yard: str
    author: str
    observed_on: date
    evidence: str
    rate: Rate
    from_grams: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Quote:
    """Low, likely and high, and what they rest on."""

    low: Rate
    likely: Rate
    high: Rate
    yards: int
    entries: int
    newest: date
    oldest: date
    thin: bool


def quote(
    sightings: Iterable[Sighting],
    on: date,
    lot_grams: Decimal,
    pricing: Pricing,
    standing: Mapping[str, Decimal] | None = None,
) -> Quote | None:
    """The likely price of one grade on a day for a lot of so many grams; None where nothing counts.

    A sighting counts from its day until `stale_after` days later, and only for lots of its from-weight or
    more.
    `standing` weighs authors; whoever is not named in it weighs 1.
    """
    newest = _newest_of_each(
        s
        for s in sightings
        if 0 <= (on - s.observed_on).days <= pricing.stale_after and s.from_grams <= lot_grams
    )
    if not newest:
        return None
    by_yard: dict[str, list[tuple[Rate, Decimal]]] = {}
    for s in newest:
        by_yard.setdefault(s.yard, []).append((s.rate, _weight(s, on, pricing, standing or {})))
    # A yard weighs as much as its weightiest witness: more witnesses make it surer, not louder.
    yards = [(quantile(seen, HALF), max(weight for _, weight in seen)) for _, seen in sorted(by_yard.items())]
    low, likely, high = _spread(yards, pricing)
    days = [s.observed_on for s in newest]
    return Quote(
        low, likely, high, len(yards), len(newest), max(days), min(days), len(yards) < pricing.thin_below
    )  # fmt: skip


def quantile(weighted: Sequence[tuple[Rate, Decimal]], share: Decimal) -> Rate:
    """The smallest rate at or below which at least `share` of the weight lies."""
    if len(weighted) == 1:  # most yards have one witness of most grades
        return weighted[0][0]
    ordered = sorted(weighted, key=lambda pair: (pair[0].per(ONE), pair[0].per_grams))
    total = Decimal(0)
    for _, weight in ordered:
        total = EXACT.add(total, weight)
    needed = EXACT.multiply(share, total)
    reached = Decimal(0)
    for rate, weight in ordered:
        reached = EXACT.add(reached, weight)
        if reached >= needed:
            return rate
    raise ValueError("no weights to take a quantile of")


@lru_cache(maxsize=8192)
def decay(age: int, half_life: int) -> Decimal:
    """2 to the power -age/half_life, to twelve places."""
    exponent = ROUNDING.divide(ROUNDING.multiply(ROUNDING.ln(Decimal(2)), Decimal(-age)), Decimal(half_life))
    return ROUNDING.exp(exponent).quantize(WEIGHT_STEP, context=ROUNDING)


def _newest_of_each(sightings: Iterable[Sighting]) -> list[Sighting]:
    """Every author's newest at every yard; in one posting the highest from-weight that the lot reaches."""
    newest: dict[tuple[str, str], Sighting] = {}
    for s in sightings:
        key = (s.yard, s.author)
        held = newest.get(key)
        if held is None or _rank(s) > _rank(held):
            newest[key] = s
    # In the order of the ledger, so that of equal prices in two spellings it is always the same one's.
    return sorted(newest.values(), key=_recorded)


def _recorded(s: Sighting) -> tuple[int, int]:
    return s.revision, s.line


def _rank(s: Sighting) -> tuple[date, int, Decimal, int]:
    return s.observed_on, s.revision, s.from_grams, s.line


def _weight(s: Sighting, on: date, pricing: Pricing, standing: Mapping[str, Decimal]) -> Decimal:
    evidence = pricing.evidence.get(s.evidence, Decimal(0))
    share = ROUNDING.multiply(evidence, standing.get(s.author, ONE))
    weight = ROUNDING.multiply(share, decay((on - s.observed_on).days, pricing.half_life))
    # However weak, a sighting is better than none: a weight of nothing would make a lone price vanish.
    return max(weight.quantize(WEIGHT_STEP, context=ROUNDING), WEIGHT_STEP)


def _spread(yards: list[tuple[Rate, Decimal]], pricing: Pricing) -> tuple[Rate, Rate, Rate]:
    likely = quantile(yards, HALF)
    if len(yards) >= pricing.thin_below:
        return quantile(yards, QUARTER), likely, quantile(yards, THREE_QUARTERS)
    rates = sorted((rate for rate, _ in yards), key=lambda rate: rate.per(ONE))
    lowest, highest = rates[0], rates[-1]
    less, more = EXACT.subtract(ONE, pricing.thin_margin), EXACT.add(ONE, pricing.thin_margin)
    # Further from the likely price by a share of the rate's size, also where the rate is a charge.
    low = lowest.times(less if lowest.price >= 0 else more)
    return low, likely, highest.times(more if highest.price >= 0 else less)
