"""The likely price within what others say without each one of the authors: so nobody moves it alone.

An author can move the likely price by what they claim, and by whose claims wait or count because of theirs.
So it is asked of each what counts of all others' claims where that author says nothing at all. Where that is
of enough yards and of two authors or more, the likely price stays between the lowest and the highest of it;
the nearest of these stands in its place. Of two authors it is word against word (`core.word_against_word`).
Where two others on either side say nearly the likely price, whoever is left out, nothing has to be
asked: in a large market it hardly ever is. Nor has it to be asked what waits where all are so near to each
other that nothing can. The form is our own; common practice, no source.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal

from gradewright.core.consensus import Memory, Quote, moves_of, quote
from gradewright.core.holding import sifted
from gradewright.core.market import close_together
from gradewright.core.rulebook import Holding, Pricing
from gradewright.core.sightings import ENTRY, Entry, Sighting, claims
from gradewright.core.spoken import NOTHING_SAID, Said, level

SURE = 2
"""So many others on either side of the likely price leave it between them, whoever is left out."""
MEASURE = 2
"""So many others are a measure: of fewer it is word against word."""


def quoted(
    sightings: Iterable[Sighting],
    on: date,
    lot_grams: Decimal,
    pricing: Pricing,
    standing: Mapping[str, Decimal] | None = None,
    held: Collection[Entry] = (),
    said: Mapping[Entry, Said] = NOTHING_SAID,
    memory: Memory | None = None,
) -> Quote | None:
    """What `consensus.quote` finds; in versions that say so, with nobody moving the likely price alone.

    `held` are those of the sightings that do not count, `said` is what members say of them.
    """
    seen = list(sightings)
    found = quote(seen, on, lot_grams, pricing, standing, held, memory)
    if found is None or pricing.holding is None or not pricing.holding.within_others:
        return found
    said_now = counted = claims(seen, on, lot_grams, pricing)
    if held:
        # What each says newest of each yard, and what stands in its place where that waits: nothing older,
        # and so the same however much of the past is at hand.
        counted = claims([s for s in seen if s.entry not in held], on, lot_grams, pricing)
        said_now = [*dict.fromkeys([*said_now, *counted])]
    unsure = _not_sure(level(found.likely), counted, said_now, pricing.holding)
    nothing_waits = bool(unsure) and _nothing_waits(said_now, pricing.holding, said)
    spans = []
    for author in unsure:
        left = [s for s in said_now if s.author != author]
        if not nothing_waits:
            gone = sifted(left, on, pricing, standing or {}, said).gone
            left = [s for s in left if s.entry not in gone]
        left = claims(left, on, lot_grams, pricing)
        if _enough(left, pricing.holding):
            in_order = sorted(left, key=lambda s: (level(s.rate), ENTRY(s)))
            spans.append((in_order[0].rate, in_order[-1].rate))
    if not spans:
        return found
    lowest = max((low for low, _ in spans), key=level)
    highest = min((high for _, high in spans), key=level)
    likely = min(max(found.likely, lowest, key=level), highest, key=level)
    if level(lowest) > level(highest) or level(likely) == level(found.likely):
        return found
    return replace(
        found,
        low=min(found.low, likely, key=level),
        likely=likely,
        high=max(found.high, likely, key=level),
        moves=moves_of(counted, likely),
    )


def _not_sure(
    likely: int, counted: Sequence[Sighting], said_now: Sequence[Sighting], rules: Holding
) -> Sequence[str]:
    """Without whom the likely price may lie outside of what the others say."""
    authors = {s.author for s in said_now}
    if len(authors) <= MEASURE:
        return ()
    times, parts = rules.factor.as_integer_ratio()
    below, above = set[str](), set[str]()
    for s in counted:
        at = level(s.rate)
        if min(at, likely) > 0 and max(at, likely) * parts <= min(at, likely) * times:
            if at <= likely:
                below.add(s.author)
            if at >= likely:
                above.add(s.author)
    if min(len(below), len(above)) > SURE:
        return ()
    return [who for who in sorted(authors) if min(len(below - {who}), len(above - {who})) < SURE]


def _nothing_waits(said_now: Sequence[Sighting], rules: Holding, said: Mapping[Entry, Said]) -> bool:
    """Whether nothing can wait, whoever is left out: all are near to each other, and nobody has said anything
    of them."""
    levels = [level(s.rate) for s in said_now]
    together = close_together(min(levels), max(levels), rules)
    return together and said.keys().isdisjoint(s.entry for s in said_now)


def _enough(left: Sequence[Sighting], rules: Holding) -> bool:
    """Whether others are a measure: more than one of them, and of enough yards."""
    yards = rules.few.yards if rules.few is not None else rules.enough_yards
    return len({s.author for s in left}) >= MEASURE and len({s.yard for s in left}) >= yards
