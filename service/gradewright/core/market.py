"""All claims of a grade in a region, held against each other: the figures behind `core.holding`."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from gradewright.core.alone import leaves_one_alone
from gradewright.core.backing import disputed, not_borne_out
from gradewright.core.decimals import EXACT, ROUNDING
from gradewright.core.others import Others, Rest, Vote
from gradewright.core.rates import made
from gradewright.core.rulebook import Few, Holding
from gradewright.core.sightings import Entry, Sighting
from gradewright.core.spoken import (
    DISPUTED,
    FAR_OFF,
    LEVEL_PLACES,
    OUTLIER,
    SILENCE,
    Claim,
    Held,
    Said,
    Voices,
)

NORMAL = Decimal("0.6745")  # the third quartile of the normal distribution, as the source rounds it
NOWHERE = 1, 0


def close_together(lowest: int, highest: int, rules: Holding) -> bool:
    """Whether all claims between two levels are so close that none can be held: the score is below the limit
    whatever the median."""
    if lowest <= 0 or not rules.spread_floor:
        return False
    reach = EXACT.multiply(EXACT.multiply(rules.outlier, rules.spread_floor), Decimal(lowest))
    factor = rules.factor if rules.few is None else min(rules.factor, rules.few.factor)
    return EXACT.multiply(NORMAL, Decimal(highest - lowest)) <= reach and highest < factor * lowest


@dataclass(slots=True)
class Waiting:
    """What waits of one grade, lot by lot, and what is borne out and would wait else."""

    found: dict[Entry, Held] = field(default_factory=dict)
    borne_out: set[Entry] = field(default_factory=set)


class Market:
    """All claims that are held against each other, and what each author finds the others say."""

    def __init__(self, in_order: Sequence[Claim], rules: Holding) -> None:
        self.rules = rules
        self._claims = in_order
        self._at: dict[str, list[Claim]] = {}
        votes = [made(Vote, (n, w, s.author, s.yard)) for n, _, w, s in in_order]
        if rules.few is not None:  # then nobody outweighs others by being at more yards
            speaks = Counter([vote.author for vote in votes])
            votes = [made(Vote, (n, max(1, w // speaks[who]), who, yard)) for n, w, who, yard in votes]
        self._others = Others(votes)
        self._rests: dict[str, Rest | None] = {}
        self._without: dict[str, Market] = {}
        outlier, normal, floor, factor = map(
            Decimal.as_integer_ratio, (rules.outlier, NORMAL, rules.spread_floor, rules.factor)
        )
        self._off, self._spread = normal[0] * outlier[1] * floor[1], outlier[0] * normal[1] * floor[1]
        self._size, self._factor = outlier[0] * normal[1] * floor[0], factor

    def differs(self, others: Sequence[Claim]) -> list[Claim]:
        """The claims that only one of two markets has."""
        here, there = {c.entry for c in self._claims}, {c.entry for c in others}
        return [c for c in self._claims if c.entry not in there] + [c for c in others if c.entry not in here]

    def counting(self, besides: Sequence[Claim] = ()) -> tuple[int, int]:
        """Between which levels any claim counts: near enough to the median of others, whoever says it.

        What is so at both ends of where that median can be is so between them. `besides`: claims that have
        come or gone since; so it still is without the one and with the other. An empty span where it depends.
        """
        # Where there are few, it is not the median that a claim is held against.
        judges = self._others.fewest_yards() - len(besides)
        reach = self._others.reach(sum(claim.weight for claim in besides))
        if reach is None or reach.lowest <= 0 or (self.rules.few and judges < self.rules.enough_yards):
            return NOWHERE
        low, high, spread = reach
        near = max(self._size * low, self._spread * spread) // self._off
        times, parts = self._factor
        return max(high - near, -(-high * parts // times)), min(low + near, low * times // parts)

    def held(
        self, judged: Collection[Entry], voices: Voices, said: Mapping[Entry, Said], so_far: Waiting
    ) -> dict[Entry, Held]:
        """Which of the claims that are judged wait; `so_far`: what does for smaller lots."""
        found: dict[Entry, Held] = {}
        lowest, highest = self.counting()
        for claim in self._claims:
            if claim.entry not in judged:
                continue
            if lowest <= claim.level <= highest and claim.entry not in said:
                continue
            spoken = said.get(claim.entry, SILENCE)
            why = _judge(claim, self, voices, spoken)
            if why is None:
                continue
            waits = not_borne_out(why, claim, self.others_at(claim.seen), self.rules, voices, spoken)
            if waits is not None:
                found[claim.entry] = waits
            elif why.because != DISPUTED:
                so_far.borne_out.add(claim.entry)
        if self.rules.few is not None and len(found) == len(self._claims):
            return {}  # somebody always counts
        if self.rules.without_any_one and self.rules.few is not None and found:
            return self._spared(found, {*so_far.found}, self.rules.few)
        return found

    def _spared(self, found: dict[Entry, Held], waiting: set[Entry], few: Few) -> dict[Entry, Held]:
        """What waits of it without leaving one author alone: less and less, but for what is disputed."""
        claims = [claim.seen for claim in self._claims]
        for less in ((), (OUTLIER,), (OUTLIER, FAR_OFF)):
            found = {entry: why for entry, why in found.items() if why.because not in less}
            if not leaves_one_alone(claims, waiting | found.keys(), self.rules.enough_yards, few.yards):
                break
        return found

    def whoever_is_left_out(self, claim: Claim) -> bool:
        """Whether a claim that is far off what all others say is so without any one of them too."""
        if self._surely(claim):
            return True
        for author in {other.seen.author for other in self._claims} - {claim.seen.author}:
            if author not in self._without:
                rest = [other for other in self._claims if other.seen.author != author]
                self._without[author] = Market(rest, self.rules)
            if _outlying(claim, self._without[author]) is None:
                return False
        return True

    def _surely(self, claim: Claim) -> bool:
        """Whether that is so at once: by more than the factor, from wherever the median can be."""
        reach = self._others.reach(self._others.most)
        if reach is None or self._others.yards_without_two() < self.rules.enough_yards:
            return False
        inside = reach.lowest < claim.level < reach.highest
        return not inside and all(self.beyond(claim.level, end) for end in (reach.lowest, reach.highest))

    def beyond(self, level: int, median: int) -> bool:
        """Whether a level is off by more than the factor, of prices that are paid."""
        return _beyond(level, median, self._factor)

    def within(self, level: int, rest: Rest) -> bool:
        """Whether the modified z-score of a level is no higher than what makes an outlier."""
        spread = max(self._spread * rest.spread, self._size * abs(rest.median))
        return self._off * abs(level - rest.median) <= spread

    def rest(self, author: str) -> Rest | None:
        """What others than the author say; None where they speak of too few yards to judge by."""
        if author not in self._rests:
            judges = self._others.yards_without(author) >= self.rules.enough_yards
            self._rests[author] = self._others.without(author) if judges else None
        return self._rests[author]

    def nearest(self, claim: Claim) -> Rest | None:
        """The nearest of what others than its author say, without a spread, where they speak of few yards
        that are still enough, and agree: none of them is so far from another that it would wait.
        """
        few, author = self.rules.few, claim.seen.author
        yards = self._others.yards_without(author)
        if few is None or yards < few.yards:
            return None
        levels = [other.level for other in self._claims if other.seen.author != author]  # ascending
        if _apart(levels[-1], levels[0], few):
            return None
        return Rest(yards, levels[0] if claim.level < levels[0] else levels[-1], 0)

    def others_at(self, seen: Sighting) -> list[Claim]:
        """The claims of others than the author of the same yard."""
        if not self._at:
            for claim in self._claims:
                self._at.setdefault(claim.seen.yard, []).append(claim)
        return [claim for claim in self._at[seen.yard] if claim.seen.author != seen.author]

    def moved_with(self, author: str) -> str | None:
        """The benchmark that a claim of others than the author moved with."""
        moved = ((c.seen.moved, c.seen.author) for c in self._claims)
        return next((m.benchmark for m, who in moved if m is not None and who != author), None)


def _judge(claim: Claim, market: Market, voices: Voices, said: Said) -> Held | None:
    """Why a claim waits unless it is borne out."""
    if said.accepted:
        return None
    why = disputed(claim.seen.author, voices, said) or _outlying(claim, market)
    if market.rules.without_any_one and why is not None and why.because != DISPUTED:
        return why if market.whoever_is_left_out(claim) else None
    return why


def _outlying(claim: Claim, market: Market) -> Held | None:
    rest, rules = market.rest(claim.seen.author), market.rules
    if rest is None:
        return _far_from_all(claim, market)
    beyond, median = market.beyond(claim.level, rest.median), rest.median
    if not beyond and market.within(claim.level, rest):
        return None
    spread = max(Decimal(rest.spread), EXACT.multiply(rules.spread_floor, Decimal(abs(median))))
    off = EXACT.multiply(NORMAL, Decimal(abs(claim.level - median)))
    score = ROUNDING.divide(off, spread) if spread else Decimal(0)
    because = FAR_OFF if beyond else OUTLIER
    moved = market.moved_with(claim.seen.author)
    return Held(because, _shown(median), _shown(rest.spread), _places(score, 2), rest.yards, moved)


def _far_from_all(claim: Claim, market: Market) -> Held | None:
    near, few = market.nearest(claim), market.rules.few
    if near is None or few is None or not _apart(claim.level, near.median, few):
        return None
    because = FAR_OFF if market.beyond(claim.level, near.median) else OUTLIER
    moved = market.moved_with(claim.seen.author)
    return Held(because, _shown(near.median), None, None, near.yards, moved)


def _beyond(level: int, other: int, factor: tuple[int, int]) -> bool:
    """Whether a level is more than so many times another, or less than it divided by that; both of prices
    that are paid.
    """
    times, parts = factor
    return other > 0 and level > 0 and (level * parts > times * other or level * times < other * parts)


def _apart(level: int, other: int, few: Few) -> bool:
    """Whether one is more than the factor times the other; levels are rounded: exactly so much is not."""
    times, parts = few.factor.as_integer_ratio()
    low, high = sorted((level, other))
    return low > 0 and (high - 1) * parts > times * (low + 1)


def _shown(whole: int) -> Decimal:
    return _places(ROUNDING.scaleb(Decimal(whole), -LEVEL_PLACES), 6)


def _places(figure: Decimal, places: int) -> Decimal:
    return figure.quantize(Decimal(1).scaleb(-places), context=ROUNDING)
