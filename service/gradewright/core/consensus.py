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
from functools import lru_cache, partial
from operator import itemgetter
from typing import NamedTuple

from gradewright.core.decimals import EXACT, ROUNDING
from gradewright.core.movement import Movement, Moves
from gradewright.core.rates import Rate, made
from gradewright.core.rulebook import Holding, Pricing, Spread
from gradewright.core.spread import Step, Voice, between, spans_of, steps_of
from gradewright.core.timeline import days_before

NONE, ONE, TWO = Decimal(0), Decimal(1), Decimal(2)
QUARTER, HALF, THREE_QUARTERS = Decimal("0.25"), Decimal("0.5"), Decimal("0.75")
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
            stands = partial(_stands, waiting=waiting, rules=pricing.holding, standing=standing or {})
        low, likely, high = _not_alone(counted, low, likely, high, judges, stands)
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
    per_grams = weighted[0][0].per_grams
    alike = all(rate.per_grams is per_grams for rate, _ in weighted)
    ordered = sorted(weighted, key=_price_alone if alike else _price_of)
    below, total = [], Decimal(0)
    for _, weight in ordered:
        total = EXACT.add(total, weight)
        below.append(total)
    return [ordered[bisect_left(below, EXACT.multiply(share, total))][0] for share in shares]


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
    shares = [weight(s, on, pricing, standing) for s in seen]
    if pricing.standing is None:
        voice = max(shares)
    else:
        multiply = ROUNDING.multiply
        alone = [weight(s, on, pricing, {}) for s in seen] if standing else shares
        voice = max([min(own, multiply(TWO, n)) for own, n in zip(alone, shares, strict=True)])
    if len(seen) == 1:
        s = seen[0]
        only = made(Voice, (s.rate, voice, (on - s.observed_on).days))
        return made(Heard, (s.rate, voice, (only,), {}))
    rate = quantile([(s.rate, share) for s, share in zip(seen, shares, strict=True)], HALF)
    if pricing.spread is None:
        return Heard(rate, voice, (), {})
    part = ROUNDING.divide(voice, sum(shares, Decimal(0)))
    voices = []
    for s, share in zip(seen, shares, strict=True):
        own = ROUNDING.multiply(part, share).quantize(WEIGHT_STEP, context=ROUNDING)
        voices.append(made(Voice, (s.rate, max(own, WEIGHT_STEP), (on - s.observed_on).days)))
    return Heard(rate, voice, voices, {})


def _not_alone(
    counted: Sequence[Sighting],
    low: Rate,
    likely: Rate,
    high: Rate,
    enough_yards: int,
    stands: Callable[[Sequence[Sighting], Sequence[Sighting]], bool] | None,
) -> tuple[Rate, Rate, Rate]:
    """The same three, unless one author alone has moved the likely price out of what all others say.

    The likely price is somebody's claim. Where others speak of enough yards, and none of them pays so much
    or so little, the nearest of theirs stands instead. `stands`: whether it does not, of what the one says
    and of what the others do.
    """
    names = {s.author for s in counted if s.rate == likely}
    if len(names) != 1:
        return low, likely, high
    mine, others = ([s for s in counted if (s.author in names) is side] for side in (True, False))
    if len({s.yard for s in others}) < enough_yards:
        return low, likely, high
    if stands is not None and stands(mine, others):
        return low, likely, high
    rates = sorted((s.rate for s in others), key=_by_price)
    nearest = min(max(likely, rates[0], key=_by_price), rates[-1], key=_by_price)
    return min(low, nearest, key=_by_price), nearest, max(high, nearest, key=_by_price)


def _stands(
    mine: Sequence[Sighting],
    others: Sequence[Sighting],
    waiting: Sequence[Sighting],
    rules: Holding,
    standing: Mapping[str, Decimal],
) -> bool:
    """Whether the price of one member stays where only one other says otherwise: word against word.

    Where the prices of others wait, those of them are believed with whom more of these agree. Else it is who
    weighs more; of two who weigh the same, who alone of them speaks of enough yards.
    """
    (one,), names = {s.author for s in mine}, {s.author for s in others}
    if len(names) > 1:
        return False
    (other,) = names
    apart = [s for s in waiting if s.author not in {one, other}]
    ours, theirs = (
        {s.author for s in apart if any(_agree(s.rate, said.rate, rules.agrees_within) for said in side)}
        for side in (mine, others)
    )
    if len(ours) != len(theirs):
        return len(ours) > len(theirs)
    here, there = standing.get(one, ONE), standing.get(other, ONE)
    if here != there:
        return here > there
    our_yards, their_yards = (len({s.yard for s in side}) for side in (mine, others))
    return not our_yards < rules.enough_yards <= their_yards


def _agree(one: Rate, other: Rate, within: Decimal) -> bool:
    """Whether two rates differ by no more than the share of the larger one."""
    prices = EXACT.multiply(one.price, other.per_grams), EXACT.multiply(other.price, one.per_grams)
    most = max(map(abs, prices))
    return abs(EXACT.subtract(*prices)) <= EXACT.multiply(within, most)


def moves_of(counted: Sequence[Sighting], likely: Rate) -> Moves | None:
    """What moved of the claims that count; of those that are the likely price, the first."""
    moved = [s.moved for s in counted if s.moved is not None]
    if not moved:
        return None
    whose = next((s for s in counted if s.rate == likely), None)
    return Moves(moved[0].benchmark, moved[0].share, len(moved), whose.moved if whose else None)


def _price_of(weighted: tuple[Rate, Decimal]) -> tuple[Decimal, Decimal]:
    return _by_price(weighted[0])


def _price_alone(weighted: tuple[Rate, Decimal]) -> Decimal:
    """The same order among rates for one mass, by far the most: told without a division."""
    return weighted[0].price


@lru_cache(maxsize=32768)
def _by_price(rate: Rate) -> tuple[Decimal, Decimal]:
    return rate.per(ONE), rate.per_grams


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
