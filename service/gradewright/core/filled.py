"""How much of each bin is on the scale, where lines stand for several bins together.

A line that stands for one bin is of that. Of the others nobody knows how much of each bin they have, and what
is taken is this: what a group lacks, or has too much, it lacks of each bin alike, by weight, as far as its
lines leave that open. So bins that can all be full are full, bins that were thrown together are short by
one share, and what a line has of a bin that is on no other is never put down to another bin.

Of all ways to divide the lines it is the one with the least sum of x squared over W, where x is what a bin
has and W what was brought: of several lines only what is in each bin is certain then, and not on which. Such
a way is the only one (S. Fujishige 1980, "Lexicographically optimal base of a polymatroid with respect to a
weight vector", Mathematics of Operations Research 5; from memory). It is found by halves: all bins alike, and
where the lines cannot do that, those that have more go apart from those that have less. In whole numbers.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import lcm

from gradewright.core.poured import Bins, poured


@dataclass(frozen=True, slots=True)
class Together:
    """Bins that are short, or too full, by one share: what each has on the scale. `own`: the lines that are
    of one of them alone, by their places; `shared`: those that are of several.
    """

    scale: Mapping[int, Fraction]
    own: Mapping[int, int]
    shared: tuple[int, ...]


def filled(brought: Mapping[int, Fraction], lines: Mapping[int, tuple[Fraction, Bins]]) -> list[Together]:
    """What is on the scale of each bin of a group. `lines`: what each weighs, above zero, and its bins."""
    unit = lcm(*(each.denominator for each in (*brought.values(), *(weighs for weighs, _ in lines.values()))))
    weight = {place: int(each * unit) for place, each in brought.items()}
    weighs = {line: int(each * unit) for line, (each, _) in lines.items()}
    waiting = [(frozenset(brought), {line: bins for line, (_, bins) in lines.items()})]
    found = []
    while waiting:
        for bins, stands in _apart(*waiting.pop()):
            more = _fuller(bins, stands, weight, weighs)
            if more:
                waiting.append((more, {line: of for line, of in stands.items() if of <= more}))
                others = {line: of - more for line, of in stands.items() if not of <= more}
                waiting.append((bins - more, others))
            else:
                found.append(_alike(bins, stands, weight, weighs, unit))
    return found


def _alike(
    bins: Bins, stands: Mapping[int, Bins], weight: Mapping[int, int], weighs: Mapping[int, int], unit: int
) -> Together:
    share = Fraction(sum(weighs[line] for line in stands), unit * sum(weight[place] for place in bins))
    return Together(
        {place: weight[place] * share for place in sorted(bins)},
        {line: place for line, of in stands.items() if len(of) == 1 for place in of},
        tuple(line for line, of in stands.items() if len(of) > 1),
    )


def _apart(bins: Bins, stands: Mapping[int, Bins]) -> Iterator[tuple[Bins, dict[int, Bins]]]:
    """What no line holds together."""
    left = set(bins)
    while left:
        part, lines = {left.pop()}, dict[int, Bins]()
        while more := {line: of for line, of in stands.items() if line not in lines and of & part}:
            lines |= more
            part = part.union(*more.values())
        left -= part
        yield frozenset(part), lines


def _fuller(
    bins: Bins, stands: Mapping[int, Bins], weight: Mapping[int, int], weighs: Mapping[int, int]
) -> Bins:
    """The bins that have more than others whatever is done; none where all can have alike."""
    brought, there = sum(weight[place] for place in bins), sum(weighs[line] for line in stands)
    left: dict[Bins, int] = {}
    for line, of in stands.items():
        left[of] = left.get(of, 0) + weighs[line] * brought
    room = {place: weight[place] * there for place in bins}
    placed: dict[int, dict[Bins, int]] = {place: {} for place in bins}
    return poured(left, room, placed, {of: of for of in left})
