"""What people saw at yards: prices as values, what an author says by now, how much it counts."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import date
from decimal import Decimal
from functools import lru_cache
from operator import itemgetter
from typing import NamedTuple

from gradewright.core.decimals import ROUNDING
from gradewright.core.movement import Movement
from gradewright.core.rates import Rate
from gradewright.core.rulebook import Pricing
from gradewright.core.timeline import days_before

NONE, ONE = Decimal(0), Decimal(1)
WEIGHT_STEP = Decimal("1E-12")  # weights are compared at twelve places, so that they are the same everywhere

Entry = tuple[int, int]
"""A row of the ledger: its revision and its line."""


class Sighting(NamedTuple):
    """One price as somebody saw it: a row of the ledger, as a value; `from_weight` as it was written.

    Where it has `moved` with its benchmark, `rate` is that of the day asked for: see `core.aging`.
    `borne_out`: it is far off, and counts as somebody bears it out: see `core.holding`.
    """

    revision: int
    line: int
    yard: str
    author: str
    observed_on: date
    evidence: str
    rate: Rate
    from_grams: Decimal = Decimal(0)
    from_weight: str | None = None
    moved: Movement | None = None
    borne_out: bool = False

    @property
    def entry(self) -> Entry:
        """Which row of the ledger it is."""
        return self[:2]


ENTRY: Callable[[Sighting], Entry] = itemgetter(slice(2))
"""The same, for what is done with many."""


@lru_cache(maxsize=8192)
def decay(age: int, half_life: int) -> Decimal:
    """2 to the power -age/half_life, to twelve places."""
    exponent = ROUNDING.divide(ROUNDING.multiply(ROUNDING.ln(Decimal(2)), Decimal(-age)), Decimal(half_life))
    return ROUNDING.exp(exponent).quantize(WEIGHT_STEP, context=ROUNDING)


def claims(sightings: Iterable[Sighting], on: date, lot_grams: Decimal, pricing: Pricing) -> list[Sighting]:
    """What each author says of each yard on a day, for a lot: the newest that is not stale.

    Of one posting that with the highest from-weight that the lot reaches.
    """
    newest: dict[tuple[str, str], Sighting] = {}
    since = days_before(on, pricing.stale_after)
    for s in sightings:
        _, _, yard, author, seen_on, _, _, from_grams, _, _, _ = s
        if from_grams > lot_grams or not since <= seen_on <= on:
            continue
        key = yard, author
        other = newest.get(key)
        if other is None or _rank(s) > _rank(other):
            newest[key] = s
    # In the order of the ledger, so that of equal prices in two spellings it is always the same one's: what a
    # sighting begins with, its entry, no other has.
    return sorted(newest.values())


def _rank(s: Sighting) -> tuple[date, int, Decimal, int]:
    return s.observed_on, s.revision, s.from_grams, s.line


def weight(s: Sighting, on: date, pricing: Pricing, standing: Mapping[str, Decimal]) -> Decimal:
    """How much a sighting counts on a day: evidence x its author's standing x 2^(-age/half-life)."""
    evidence = pricing.evidence.get(s.evidence, NONE)
    return _weighed(evidence, standing.get(s.author, ONE), (on - s.observed_on).days, pricing.half_life)


@lru_cache(maxsize=8192)
def _weighed(evidence: Decimal, standing: Decimal, age: int, half_life: int) -> Decimal:
    share = ROUNDING.multiply(evidence, standing)
    found = ROUNDING.multiply(share, decay(age, half_life))
    # However weak, a sighting is better than none: a weight of nothing would make a lone price vanish.
    return max(found.quantize(WEIGHT_STEP, context=ROUNDING), WEIGHT_STEP)
