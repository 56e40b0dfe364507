"""What was marked down on lines that stand for several bins, with what it can be, of all ways to divide them.

`core.filled` takes one way, by which bins are short alike; what it makes of a bin is told with the least and
the most that it can be (`core.between`). Where the least is nothing, nobody knows whether any of the bin was
marked down at all.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from gradewright.core.accepted import Accepting, MarkedDown
from gradewright.core.between import Between, between
from gradewright.core.filled import Together
from gradewright.core.linked import Bin
from gradewright.core.ticket import TicketLine, exact
from gradewright.core.weighed import AGREE

ZERO = Fraction(0)


def divided(
    bins: Sequence[Bin],
    lines: Mapping[int, TicketLine],
    stands: Mapping[int, frozenset[int]],
    together: Sequence[Together],
    accepting: Accepting,
) -> Iterator[MarkedDown]:
    """What was, or may have been, marked down of the bins of a group, in the order of the bins. `lines` and
    `stands`: those of the group, and the bins of each. What is nothing by the one way, and by any other no
    more than two scales differ by, is left out.
    """
    brought = {place: exact(bins[place].grams) for one in together for place in one.scale}
    scale = {line: (exact(each.scale), stands[line]) for line, each in lines.items()}
    can_be = between(brought, scale, {line: each.grade for line, each in lines.items()}, together)
    told = {(one.bin, one.grade): one for each in together for one in accepting.marked_down(each)}
    unsaid = {place for each in together for place in accepting.unsaid(each)}
    for place in sorted(brought):
        for grade in dict.fromkeys(lines[line].grade for line in sorted(lines) if place in stands[line]):
            if grade is None or not accepting.is_less(grade, bins[place].grade):
                continue
            one, open_ = told.get((place, grade)), can_be.get((place, grade))
            if open_ is not None:
                of = {line: each for line, each in lines.items() if each.grade == grade}
                its = tuple(line for line in sorted(of) if place in stands[line])
                one = one or MarkedDown(place, grade, ZERO, its)
                one = _with(replace(one, lines=its), _net(place, of, stands, open_), place in unsaid)
            if one is not None and (one.grams or _most(one) > brought[place] * AGREE):
                yield one


def _with(one: MarkedDown, net: Between, unsaid: bool) -> MarkedDown:
    """The same, with what it can be; what is certain alone, where nobody knows the share."""
    if net.least == net.most:
        return replace(one, grams=net.most)
    return replace(one, grams=net.least if unsaid else one.grams, between=net, shared=not unsaid)


def _most(one: MarkedDown) -> Fraction:
    return one.grams if one.between is None else one.between.most


def _net(
    place: int, of: Mapping[int, TicketLine], stands: Mapping[int, frozenset[int]], scale: Between
) -> Between:
    """What a bin has of the lines of a grade, less what was deducted: of what is on lines of several bins as
    much as any of these leaves.
    """
    sure = sum((exact(each.right_net) for line, each in of.items() if stands[line] == {place}), ZERO)
    left = [exact(each.right_net) / exact(each.scale) for line, each in of.items() if len(stands[line]) > 1]
    return Between(sure + scale.least * min(left), sure + scale.most * max(left))
