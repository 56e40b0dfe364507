"""Records of devices that are far off what others found in the like: they wait until another one agrees.

A record is held against the newest of everybody else, of at most `NEWEST_OTHERS`, where at least `OTHERS`
others have recorded the kind: by the weight of the whole, by the share that its parts come to together, and
by the share of each grade. It is far off where its modified z-score 0.6745 |x - median| / MAD is above 3.5
(Iglewicz & Hoaglin 1993, "How to Detect and Handle Outliers"), the spread taken for no less than a sixth of
the median weight, and no less than five hundredths of the whole, as devices of a kind do differ; or where
it weighs more than three times the median, or less than a third. It counts as soon as a record of somebody
else says the same, within a half of the weight or a tenth of the whole. (Those bounds are our own: common
practice, no source.)
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from gradewright.core.composition import HALF, ONE, ZERO, Record, quantile

OTHERS = 3
NEWEST_OTHERS = 30
NORMAL, FAR = Fraction("0.6745"), Fraction(7, 2)
FACTOR, A_SIXTH = 3, Fraction(1, 6)
OF_THE_WHOLE = Fraction(1, 20)
SAME_WEIGHT, SAME_SHARE = Fraction(3, 2), Fraction(1, 10)
A_THIRD = Fraction(1, 3)
WEIGHT, NAMED = "weight", "named"
NOWHERE = ZERO, ZERO


@dataclass(frozen=True, slots=True)
class Odd:
    """A figure of a record that is far off: "weight" (grams), "named" (the share of all parts together), or
    a grade (its share); the median of what `others` found, and how many people these are.
    """

    what: str
    figure: Fraction
    median: Fraction
    others: int


class Recorded(NamedTuple):
    """What devices of a kind weigh by their records, in grams, from `low` to `high`; one that weighs less
    than `least` or more than `most` is none of them.
    """

    low: Fraction
    median: Fraction
    high: Fraction
    least: Fraction
    most: Fraction

    def unlike(self, grams: Fraction) -> bool:
        """Whether no device of the kind weighs so much by what was recorded."""
        return not self.least <= grams <= self.most

    def about(self, grams: Fraction) -> int:
        """How many devices as heavy as the median weigh that; none where it is less than half of one."""
        return round(grams / self.median)


class Judging:
    """The records of one kind, each held against the newest of everybody else."""

    def __init__(self, known: Sequence[Record]) -> None:
        self.known = [record for record in known if not record.published]
        newest: dict[str, Record] = {}
        for record in sorted(self.known, key=lambda record: record.order, reverse=True):
            newest.setdefault(record.voice, record)
        self._newest = [*newest.values()][: NEWEST_OTHERS + 1]
        self._told = {record.name: figures(record) for record in self.known}
        self._medians: dict[str | None, _Medians] = {}

    def odd(self, record: Record) -> tuple[Odd, ...]:
        """What of a record is far off the others of its kind."""
        medians = self._others(record.voice)
        if medians.people < OTHERS:
            return ()
        told = figures(record)
        found = []
        for what in dict.fromkeys((*told, *medians.of)):
            told_by_others = WEIGHT in medians.of if what == WEIGHT else medians.shares
            if not told_by_others or not _tells(told, what):
                continue
            figure, (median, spread) = told.get(what, ZERO), medians.of.get(what, NOWHERE)
            if _is_far(what, figure, median, spread):
                found.append(Odd(what, figure, median, medians.people))
        return tuple(found)

    def waiting(self) -> frozenset[str]:
        """The names of the records that are far off, and with which no record of anybody else agrees."""
        found = set()
        for record in self.known:
            far = self.odd(record)
            others = (self._told[one.name] for one in self.known if one.voice != record.voice)
            if far and not any(all(_agrees(one, their) for one in far) for their in others):
                found.add(record.name)
        return frozenset(found)

    def _others(self, voice: str) -> _Medians:
        key = voice if any(one.voice == voice for one in self._newest) else None
        if key not in self._medians:
            others = [one for one in self._newest if one.voice != voice][:NEWEST_OTHERS]
            self._medians[key] = _medians([self._told[one.name] for one in others])
        return self._medians[key]


def recorded(known: Iterable[Record], *, by_far: bool = False, near: bool = True) -> Recorded | None:
    """What devices of a kind weigh by the records that count; None where none tells it. What lies between
    these, or is as near to one of them as records that say the same, is one of them; what does not is none
    where it is far off as a record is, held against the newest of each person; where fewer than `OTHERS`
    tell, who do not say how much devices differ, where it weighs more than three times the median, or less
    than a third. Not `near`: only what lies between them was one, once; `by_far`: nor did that count.
    """
    weighed = [record for record in known if record.grams]
    newest: dict[str, Fraction] = {}
    for record in sorted(weighed, key=lambda record: record.order, reverse=True):
        newest.setdefault(record.voice, Fraction(record.grams or 0))
    if not newest:
        return None
    values = sorted((one, ONE) for one in [*newest.values()][:NEWEST_OTHERS])
    median = quantile(values, HALF)
    least, most = median / FACTOR, median * FACTOR
    if len(values) >= OTHERS:
        spread = quantile(sorted((abs(value - median), ONE) for value, _ in values), HALF)
        off = FAR * max(spread, median * A_SIXTH) / NORMAL
        least, most = max(least, median - off), min(most, median + off)
    every = [Fraction(record.grams or 0) for record in weighed]
    low, high = min(every), max(every)
    if not by_far:
        least, most = min(least, low), max(most, high)
    if near and not by_far:
        least, most = min(least, low / SAME_WEIGHT), max(most, high * SAME_WEIGHT)
    return Recorded(low, median, high, least, most)


def hardly_named(record: Record) -> Fraction | None:
    """The share of the whole that all parts come to, where that is less than a third."""
    named = figures(record).get(NAMED)
    return named if named is not None and named < A_THIRD else None


def figures(record: Record) -> dict[str, Fraction]:
    """The figures of a record that are held against others': those that it tells."""
    found = {} if record.grams is None else {WEIGHT: Fraction(record.grams)}
    shares = record.shares()
    if shares is not None:
        found |= {**shares, NAMED: min(sum(shares.values(), ZERO), ONE)}
    return found


class _Medians(NamedTuple):
    """Of so many `people` the median and the spread (MAD) of each figure; whether any told shares."""

    people: int
    shares: bool
    of: Mapping[str, tuple[Fraction, Fraction]]


def _medians(told: Sequence[Mapping[str, Fraction]]) -> _Medians:
    of = {}
    for what in dict.fromkeys(each for one in told for each in one):
        values = [(one.get(what, ZERO), ONE) for one in told if _tells(one, what)]
        median = quantile(sorted(values), HALF)
        of[what] = median, quantile(sorted((abs(value - median), ONE) for value, _ in values), HALF)
    return _Medians(len(told), NAMED in of, of)


def _tells(figures: Mapping[str, Fraction], what: str) -> bool:
    """Whether a record tells a figure: where it has shares, it has them of all grades."""
    return WEIGHT in figures if what == WEIGHT else NAMED in figures


def _is_far(what: str, figure: Fraction, median: Fraction, spread: Fraction) -> bool:
    off = abs(figure - median)
    if what != WEIGHT:
        return NORMAL * off > FAR * max(spread, OF_THE_WHOLE)
    return (
        NORMAL * off > FAR * max(spread, median * A_SIXTH)
        or not median <= figure * FACTOR <= median * FACTOR * FACTOR
    )


def _agrees(one: Odd, their: Mapping[str, Fraction]) -> bool:
    if not _tells(their, one.what):
        return False
    figure = their.get(one.what, ZERO)
    if one.what != WEIGHT:
        return abs(figure - one.figure) <= SAME_SHARE
    return max(figure, one.figure) <= SAME_WEIGHT * min(figure, one.figure)
