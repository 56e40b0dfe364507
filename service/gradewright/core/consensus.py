"""From what people saw at yards to one likely price, with its low and high, and what they rest on.

Each yard counts once, however many posted: its price is the weighted median of its authors' claims, the
newest that each of them saw, and it weighs as much as its weightiest witness (`_listen`). The likely price
is the weighted median over yards; low and high are the weighted quartiles, by the inverted distribution
function, so that every figure is a price that somebody saw (Hyndman & Fan 1996, definition 1); versions
with a `spread` take them as `core.spread` does.
What `core.holding` holds does not count, and `core.standing` says how much an author's word weighs.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_DOWN, Decimal
from functools import partial
from itertools import accumulate
from operator import itemgetter
from typing import NamedTuple

from gradewright.core.decimals import EXACT, ROUNDING
from gradewright.core.movement import Moves
from gradewright.core.rates import Rate, by_price, made
from gradewright.core.rulebook import Pricing, Spread
from gradewright.core.sightings import ENTRY, ONE, WEIGHT_STEP, Entry, Sighting, claims, weight
from gradewright.core.spread import Step, Voice, between, spans_of, steps_of
from gradewright.core.word_against_word import not_alone, one_against_one

TWO = Decimal(2)
_PRICE, _MASS = itemgetter(0), itemgetter(1)  # of a rate
QUARTER, HALF, THREE_QUARTERS = Decimal("0.25"), Decimal("0.5"), Decimal("0.75")


@dataclass(frozen=True, slots=True)
class Quote:
    """Low, likely and high, and what they rest on; `moves`: what of that moved with a benchmark."""

    low: Rate
    likely: Rate
    high: Rate
    yards: int
    entries: int
    newest: date
    oldest: date
    thin: bool
    moves: Moves | None = None


def quote(
    sightings: Iterable[Sighting],
    on: date,
    lot_grams: Decimal,
    pricing: Pricing,
    standing: Mapping[str, Decimal] | None = None,
    held: Collection[Entry] = (),
    memory: Memory | None = None,
) -> Quote | None:
    """The likely price of one grade on a day for a lot of so many grams; None where nothing counts.

    A sighting counts from its day until `stale_after` days later, and only for lots of its from-weight or
    more; in place of a held one the one before it by the same author stands, where it is given.
    `standing` weighs authors; whoever is not named in it weighs 1. `memory` keeps what yards say: most of
    them say the same for other lots, where all else is the same.
    """
    seen = list(sightings)
    counted = claims([s for s in seen if s[:2] not in held] if held else seen, on, lot_grams, pricing)
    if not counted:
        return None
    heard, number = _by_yard(counted, on, pricing, standing or {}, memory)
    yards = [(yard.rate, yard.voice) for yard in heard]
    low, likely, high = _spread(yards, number, pricing)
    if pricing.spread is not None:
        steps = [step for yard in heard for step in yard.around(pricing.spread, likely.per_grams)]
        low, high = between(steps, likely)
    if pricing.holding is not None:
        judges = pricing.holding.few.yards if pricing.holding.few else pricing.holding.enough_yards
        stands: Callable[[Sequence[Sighting], Sequence[Sighting]], bool] | None = None
        if pricing.holding.heavier_of_two:
            waiting = claims([s for s in seen if s[:2] in held], on, lot_grams, pricing) if held else []
            stands = partial(one_against_one, waiting=waiting, rules=pricing.holding, standing=standing or {})
        low, likely, high = not_alone(counted, low, likely, high, judges, stands)
    days = [s.observed_on for s in counted]
    return Quote(
        low, likely, high, number, len(counted), max(days), min(days), number < pricing.thin_below,
        moves_of(counted, likely),
    )  # fmt: skip


def quantile(weighted: Sequence[tuple[Rate, Decimal]], share: Decimal) -> Rate:
    """The smallest rate at or below which at least `share` of the weight lies."""
    return quantiles(weighted, (share,))[0]


def quantiles(weighted: Sequence[tuple[Rate, Decimal]], shares: Iterable[Decimal]) -> list[Rate]:
    """Several, of rates that are put in order once: in a whole country that is most of the work."""
    if len(weighted) == 1:  # most yards have one witness of most grades
        return [weighted[0][0] for _ in shares]
    if not weighted:
        raise ValueError("no weights to take a quantile of")
    rates = [rate for rate, _ in weighted]
    masses = [*map(_MASS, rates)]
    # Of rates for one mass, by far the most, the order is told without a division.
    alike = masses.count(masses[0]) == len(masses)
    ranks = [*map(_PRICE if alike else by_price, rates)]
    order = sorted(range(len(rates)), key=ranks.__getitem__)
    below = [*accumulate([weighted[place][1] for place in order], EXACT.add)]
    total = below[-1]
    return [rates[order[bisect_left(below, EXACT.multiply(share, total))]] for share in shares]


class Heard(NamedTuple):
    """What one yard pays, how much it weighs, and its claims, each with its part of that.

    `steps`: of what the claims may stand for, by the mass that they are told for: kept, as most yards say the
    same for other lots.
    """

    rate: Rate
    voice: Decimal
    voices: Sequence[Voice]
    steps: dict[Decimal, list[Step]]

    def around(self, rules: Spread, per_grams: Decimal) -> list[Step]:
        """What each of its claims may stand for, in prices for so many grams."""
        found = self.steps.get(per_grams)
        if found is None:
            found = self.steps[per_grams] = steps_of(spans_of(self.voices, rules, per_grams))
        return found


Memory = dict[tuple[Entry, ...], Heard]
"""What yards say, by the claims that say it."""


def _by_yard(
    counted: Sequence[Sighting],
    on: date,
    pricing: Pricing,
    standing: Mapping[str, Decimal],
    memory: Memory | None,
) -> tuple[Sequence[Heard], int]:
    """What the yards say, and of how many it is.

    In a region of several yards, and in versions that limit it, a yard is heard twice where some of its
    claims are borne out only: these all together weigh no more than their share of all.
    """
    by_yard = _sorted_out(counted)
    most = pricing.holding.borne_out_at_most if pricing.holding else None
    sides = by_yard, dict[str, list[Sighting]]()
    if most is not None and len(by_yard) > 1 and any(s.borne_out for s in counted):
        usual, borne_out = ([s for s in counted if s.borne_out is side] for side in (False, True))
        if usual:
            sides = _sorted_out(usual), _sorted_out(borne_out)
    heard, besides = (
        [_heard(seen, on, pricing, standing, memory) for _, seen in sorted(side.items())] for side in sides
    )
    if most is not None and besides:
        heard += _no_more_than(most, heard, besides)
    return heard, len(by_yard)


def _sorted_out(claims: Iterable[Sighting]) -> dict[str, list[Sighting]]:
    found: dict[str, list[Sighting]] = {}
    for s in claims:
        found.setdefault(s.yard, []).append(s)
    return found


def _no_more_than(most: Decimal, heard: Sequence[Heard], besides: Sequence[Heard]) -> Iterator[Heard]:
    """Those heard besides, each with less of a voice where all together have more than the share."""
    usual, more = (sum((yard.voice for yard in side), Decimal(0)) for side in (heard, besides))
    allowed = ROUNDING.divide(ROUNDING.multiply(most, usual), EXACT.subtract(ONE, most))
    part = min(ONE, ROUNDING.divide(allowed, more))
    for rate, voice, voices, _ in besides:
        quieter = [made(Voice, (v.rate, _part_of(v.weight, part), v.age)) for v in voices]
        yield Heard(rate, _part_of(voice, part), quieter, {})


def _part_of(voice: Decimal, part: Decimal) -> Decimal:
    # Rounded down, so that what is limited is never more.
    return max(ROUNDING.multiply(voice, part).quantize(WEIGHT_STEP, rounding=ROUND_DOWN), WEIGHT_STEP)


def _heard(
    seen: Sequence[Sighting],
    on: date,
    pricing: Pricing,
    standing: Mapping[str, Decimal],
    memory: Memory | None,
) -> Heard:
    key = tuple(map(ENTRY, seen))
    known = memory.get(key) if memory is not None else None
    if known is None:
        known = _listen(seen, on, pricing, standing)
        if memory is not None:
            memory[key] = known
    return known


def _listen(seen: Sequence[Sighting], on: date, pricing: Pricing, standing: Mapping[str, Decimal]) -> Heard:
    """The weighted median of a yard's claims. The yard weighs as much as its weightiest witness: more
    witnesses make it surer, not louder.

    With standing, a witness of half standing gives the yard its whole voice: below that the standing tells
    who is believed within the yard, and should not decide which yards are heard. Where witnesses differ, the
    yard may pay either: they share its voice.
    """
    if len(seen) == 1:
        s = seen[0]
        voice = _voice(s, weight(s, on, pricing, standing), on, pricing, standing)
        only = made(Voice, (s.rate, voice, (on - s.observed_on).days))
        return made(Heard, (s.rate, voice, (only,), {}))
    shares = [weight(s, on, pricing, standing) for s in seen]
    voice = max([_voice(s, share, on, pricing, standing) for s, share in zip(seen, shares, strict=True)])
    rate = quantile([(s.rate, share) for s, share in zip(seen, shares, strict=True)], HALF)
    if pricing.spread is None:
        return Heard(rate, voice, (), {})
    part = ROUNDING.divide(voice, sum(shares, Decimal(0)))
    voices = []
    for s, share in zip(seen, shares, strict=True):
        own = ROUNDING.multiply(part, share).quantize(WEIGHT_STEP, context=ROUNDING)
        voices.append(made(Voice, (s.rate, max(own, WEIGHT_STEP), (on - s.observed_on).days)))
    return Heard(rate, voice, voices, {})


def _voice(
    s: Sighting, share: Decimal, on: date, pricing: Pricing, standing: Mapping[str, Decimal]
) -> Decimal:
    """What a yard weighs for the sake of one witness, whose word weighs a `share`."""
    if pricing.standing is None or standing.get(s.author, ONE) == ONE:
        return share
    return min(weight(s, on, pricing, {}), ROUNDING.multiply(TWO, share))


def moves_of(counted: Sequence[Sighting], likely: Rate) -> Moves | None:
    """What moved of the claims that count; of those that are the likely price, the first."""
    moved = [s.moved for s in counted if s.moved is not None]
    if not moved:
        return None
    whose = next((s for s in counted if s.rate == likely), None)
    return Moves(moved[0].benchmark, moved[0].share, len(moved), whose.moved if whose else None)


def _spread(yards: list[tuple[Rate, Decimal]], number: int, pricing: Pricing) -> tuple[Rate, Rate, Rate]:
    low, likely, high = quantiles(yards, (QUARTER, HALF, THREE_QUARTERS))
    if number >= pricing.thin_below:
        return low, likely, high
    rates = sorted((rate for rate, _ in yards), key=lambda rate: rate.per(ONE))
    lowest, highest = rates[0], rates[-1]
    less, more = EXACT.subtract(ONE, pricing.thin_margin), EXACT.add(ONE, pricing.thin_margin)
    # Further from the likely price by a share of the rate's size, also where the rate is a charge.
    low = lowest.times(less if lowest.price >= 0 else more)
    return low, likely, highest.times(more if highest.price >= 0 else less)
