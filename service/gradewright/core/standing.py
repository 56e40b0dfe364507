"""How much an author's word weighs: a pure function of the ledger up to a revision.

    standing = settled x agreement^2 x rejected^(rejected prices), never below `least` nor above 1

*settled* grows from `newcomer` to 1 with postings and with days, whichever is slower. *agreement* is the
share of the author's present claims in the region that agree with what the other authors claim of the same
grade: with their weighted median, each author's claim of each yard one vote, weighed by how settled they are;
in versions with `one_voice` all claims of an author together have one, so that few are not many by going to
many yards.
One claim is added that agrees, so that nobody falls for a single one. Authors who are judged by nobody are
taken at their word, as far as they are settled. So are in versions with `by_record` those who claim nothing
by now, on days on which they did: in those before they are not in it, and weigh 1. The form is our own;
common practice, no source. How it holds against liars is measured by the simulation in tests/checks.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from gradewright.core.decimals import EXACT, ROUNDING
from gradewright.core.others import Others, Reach, Vote
from gradewright.core.rates import made
from gradewright.core.rulebook import Holding, Pricing, Standing
from gradewright.core.sightings import Sighting, claims
from gradewright.core.spoken import agree, agreeing, level

ONE = Decimal(1)
STEP = Decimal("0.000001")
ANY_LOT = Decimal("Infinity")
NOBODY: Mapping[str, Decimal] = {}


@dataclass(frozen=True, slots=True)
class Record:
    """An author's record at a revision: postings, days since the first, prices that maintainers rejected."""

    postings: int
    days: int
    rejected: int = 0


def settled(record: Record, rules: Standing) -> Decimal:
    """How settled an author is, from `newcomer` to 1; to six places."""
    by_postings = _share(max(0, record.postings - 1), rules.settled_postings - 1)
    by_days = _share(record.days, rules.settled_days)
    grown = ROUNDING.multiply(ONE - rules.newcomer, min(by_postings, by_days))
    return ROUNDING.add(rules.newcomer, grown).quantize(STEP, context=ROUNDING)


def standings(
    sightings: Mapping[str, Sequence[Sighting]],
    on: date,
    records: Mapping[str, Record],
    pricing: Pricing,
) -> Mapping[str, Decimal]:
    """The standing of every author among the sightings of a region, by grade; a version without it has none.

    Raises KeyError for an author without a record.
    """
    rules, holding = pricing.standing, pricing.holding
    if rules is None or holding is None:
        return NOBODY
    known, weights = _settled(records, rules)
    judged: dict[str, list[int]] = {author: [1, 1] for author in records}  # one that agrees is lent to all
    for seen in sightings.values():
        said = claims(seen, on, ANY_LOT, pricing)
        for author, agrees in _votes(said, _voices(said, weights) if rules.one_voice else weights, holding):
            judged[author][0] += agrees
            judged[author][1] += 1
    found: dict[tuple[Decimal, int, int, int], Decimal] = {}
    standing: dict[str, Decimal] = {}
    for author, record in records.items():
        agreed, votes = judged[author]
        alike = (known[author], agreed, votes, record.rejected)
        if alike not in found:
            found[alike] = _bounded(*alike, rules)
        standing[author] = found[alike]
    return standing


def _settled(records: Mapping[str, Record], rules: Standing) -> tuple[dict[str, Decimal], dict[str, int]]:
    """How settled each author is, and that in millionths: most of them entirely, and worked out once for all
    who are alike.
    """
    found: dict[tuple[int, int], tuple[Decimal, int]] = {}
    known: dict[str, Decimal] = {}
    weights: dict[str, int] = {}
    for author, record in records.items():
        alike = (min(record.postings, rules.settled_postings), min(record.days, rules.settled_days))
        if alike not in found:
            share = settled(record, rules)
            found[alike] = share, int(EXACT.scaleb(share, 6))
        known[author], weights[author] = found[alike]
    return known, weights


def _voices(said: Sequence[Sighting], weights: Mapping[str, int]) -> Mapping[str, int]:
    """What each claim of an author weighs where all of them together weigh as one does."""
    return {
        author: max(1, weights[author] // many) for author, many in Counter(s.author for s in said).items()
    }


def _votes(
    said: Sequence[Sighting], weights: Mapping[str, int], holding: Holding
) -> Iterator[tuple[str, bool]]:
    """For every claim that others can judge: its author, and whether it agrees with their median."""
    in_order = sorted((level(s.rate), s.entry, s) for s in said)
    others = Others([made(Vote, (at, weights[s.author], s.author, s.yard)) for at, _, s in in_order])
    reach = others.reach() if others.fewest_yards() >= holding.enough_yards else None
    sure = None if reach is None else _sure(reach, holding.agrees_within)
    medians: dict[str, int | None] = {}
    for at, _, s in in_order:
        if sure is not None and not sure.unclear(at):
            yield s.author, sure.first <= at <= sure.last
            continue
        if s.author not in medians:
            judged = others.yards_without(s.author) >= holding.enough_yards
            medians[s.author] = others.median_without(s.author) if judged else None
        median = medians[s.author]
        if median is not None:
            yield s.author, agree(at, median, holding.agrees_within)


class _Sure(NamedTuple):
    """Between which levels a claim agrees with the medians of all others, wherever in their reach those are;
    below `none_below` and above `none_above` it agrees with none of them."""

    first: int
    last: int
    none_below: int
    none_above: int

    def unclear(self, level: int) -> bool:
        """Whether it depends on where the median is."""
        return self.none_below <= level < self.first or self.last < level <= self.none_above


def _sure(reach: Reach, within: Decimal) -> _Sure | None:
    """What is so at once; None where levels are not all above zero, or all agree.

    Those that agree with a level are all between two of them, which rise with it.
    """
    if reach.lowest <= 0 or within >= ONE:
        return None
    below, first = (agreeing(end, within)[0] for end in (reach.lowest, reach.highest))
    last, above = (agreeing(end, within)[1] for end in (reach.lowest, reach.highest))
    return _Sure(first, last, below, above)


def _bounded(known: Decimal, agreed: int, judged: int, rejected: int, rules: Standing) -> Decimal:
    share = ROUNDING.divide(Decimal(agreed * agreed), Decimal(judged * judged))
    weight = ROUNDING.multiply(ROUNDING.multiply(known, share), ROUNDING.power(rules.rejected, rejected))
    least = rules.least
    if rules.least_by_settled:
        least = ROUNDING.multiply(least, known).quantize(STEP, context=ROUNDING)
    return min(ONE, max(least, weight.quantize(STEP, context=ROUNDING)))


def _share(part: int, whole: int) -> Decimal:
    return ROUNDING.divide(Decimal(min(part, whole)), Decimal(whole)) if whole > 0 else ONE
