"""Which prices wait instead of counting: kept, shown with the figures that hold them, and let go by others.

A claim is held against what all other authors claim of the same grade in the same region:

- its modified z-score 0.6745 |x - median| / MAD is above the version's `outlier` (Iglewicz & Hoaglin 1993,
  "How to Detect and Handle Outliers": 3.5), the spread taken for no less than `spread_floor` of the median;
- or it is more than `factor` times the median, or less than the median divided by it;
- or two members and more dispute it, who weigh more than its author and those who confirm it.

It is judged only where others speak of enough yards. In versions that judge where there are `few` too, it
is held there against the nearest of what others claim, and only where these agree: the median of two yards
would be one of them, and might be the wrong one. There nobody outweighs others by being at more yards
either, and where all would wait nobody does. Each of the others has one vote a yard, weighed as for the
likely price; nobody judges himself. A held claim counts as soon as a second author says the same of that
yard, by a price of their own or by confirming it, unless those who lately say otherwise there weigh more. A
settled ticket that shows it stands for the second author, and weighs nothing: whoever makes one up gains no
more by it than by a friend; and nothing by a price that is off by more than `factor`, which takes a second
author, as low and high would follow it. What a maintainer has decided is not judged again.

In versions that say so a claim waits only if it is also far off without any one of the others, so that no
author alone has theirs wait. Nor is an author left alone by what waits, where others speak of enough yards:
where too few of them would be left, only what is off by more than `factor` waits, or nothing. And whoever
confirms or disputes weighs by a record of their own, claim or not: in those before, an author without a claim
has a full voice there.

In versions that limit it, what would wait but is borne out is told apart: together it weighs no more in a
region than a share of all, so that two members are not believed wherever nobody else goes (`core.consensus`).

Where prices moved with a benchmark (`core.aging`), a claim is held only if it is off by the prices as they
were seen too: a slip in the benchmark alone holds nobody.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from gradewright.core.market import Market, Waiting, close_together
from gradewright.core.rates import made
from gradewright.core.rulebook import Pricing
from gradewright.core.sightings import ENTRY, Entry, Sighting, claims, weight
from gradewright.core.spoken import NOTHING_SAID, Claim, Held, Said, Voices, level, whole

FULL = Decimal(1)
MOST_LOOKS = 3
"""How many claims of one author in a row are looked at, where each is held: then they are silent there."""


@dataclass(frozen=True, slots=True)
class Judged:
    """What waits and why, and what would wait if nobody bore it out; in versions without a limit for that
    nobody asks, and the latter is empty.
    """

    held: Mapping[Entry, Held]
    borne_out: Set[Entry] = frozenset()


def judge(
    sightings: Sequence[Sighting],
    on: date,
    pricing: Pricing,
    standing: Mapping[str, Decimal],
    said: Mapping[Entry, Said] = NOTHING_SAID,
) -> Judged:
    """The held ones among the sightings of one grade in one region, on a day.

    None in a version that holds none.
    """
    now = _waiting(sightings, on, pricing, standing, said)
    held, borne_out = now.found, now.borne_out
    if (held or borne_out) and any(s.moved is not None for s in sightings):
        seen = [s if s.moved is None else s._replace(rate=s.moved.seen, moved=None) for s in sightings]
        as_seen = _waiting(seen, on, pricing, standing, said)
        off = as_seen.found.keys() | as_seen.borne_out
        held = {entry: why for entry, why in held.items() if entry in as_seen.found}
        borne_out &= off
    if pricing.holding is None or pricing.holding.borne_out_at_most is None:
        return Judged(held)
    return Judged(held, borne_out)


def held_of(
    sightings: Sequence[Sighting],
    on: date,
    pricing: Pricing,
    standing: Mapping[str, Decimal],
    said: Mapping[Entry, Said] = NOTHING_SAID,
) -> Mapping[Entry, Held]:
    """What waits alone, as `judge` finds it."""
    return judge(sightings, on, pricing, standing, said).held


def _waiting(
    sightings: Sequence[Sighting],
    on: date,
    pricing: Pricing,
    standing: Mapping[str, Decimal],
    said: Mapping[Entry, Said],
) -> Waiting:
    rules, waiting = pricing.holding, Waiting()
    if rules is None:
        return waiting
    unknown = pricing.standing.newcomer if rules.words_weighed and pricing.standing is not None else FULL
    voices = Voices(standing, unknown)
    known: dict[Entry, Claim] = {}
    market: Market | None = None
    for step in sorted({s.from_grams for s in sightings}):
        said_now = claims(sightings, on, step, pricing)
        entries = [*map(ENTRY, said_now)]
        judged = {entry for entry, s in zip(entries, said_now, strict=True) if s.from_grams == step}
        if not judged:
            continue
        for entry, s in zip(entries, said_now, strict=True):
            if entry not in known:
                share = whole(weight(s, on, pricing, standing))
                known[entry] = made(Claim, (level(s.rate), entry, share, s))
        all_claims = [known[entry] for entry in entries]
        if market is not None and not said:
            # Larger lots are paid much the same: few claims are others, and mostly all of them count.
            lowest, highest = market.counting(market.differs(all_claims))
            if all(lowest <= known[entry].level <= highest for entry in judged):
                continue
        all_claims.sort()
        if not said and close_together(all_claims[0].level, all_claims[-1].level, rules):
            continue
        market = Market(all_claims, rules)
        waiting.found |= market.held(judged, voices, said, waiting)
    return waiting


@dataclass(frozen=True, slots=True)
class Sifted:
    """Which entries do not count, and which do as they are borne out only."""

    gone: frozenset[Entry]
    borne_out: Set[Entry]

    def left(self, sightings: Iterable[Sighting]) -> list[Sighting]:
        """The sightings that count, with those told apart that are borne out."""
        return marked([s for s in sightings if s.entry not in self.gone], self.borne_out)


def sifted(
    sightings: Sequence[Sighting],
    on: date,
    pricing: Pricing,
    standing: Mapping[str, Decimal],
    said: Mapping[Entry, Said] = NOTHING_SAID,
) -> Sifted:
    """What does not count of all that was seen of one grade: the held, and who has nothing else to say.

    In place of a held claim the one before it by the same author is looked at.
    """
    held: set[Entry] = set()
    for _ in range(MOST_LOOKS):
        new = judge([s for s in sightings if s.entry not in held], on, pricing, standing, said)
        held |= new.held.keys()
        if not new.held:
            return Sifted(frozenset(held), new.borne_out)
    silent = {(s.yard, s.author, s.from_grams) for s in sightings if s.entry in new.held}
    gone = held | {s.entry for s in sightings if (s.yard, s.author, s.from_grams) in silent}
    return Sifted(frozenset(gone), new.borne_out)


def marked(sightings: Sequence[Sighting], borne_out: Set[Entry]) -> list[Sighting]:
    """The sightings, with those told apart that are borne out only."""
    return [s._replace(borne_out=True) if s.entry in borne_out else s for s in sightings]
