"""What the weight of one part does where prices step: that of the part, and of what is left over.

A part's weight decides in which lot it is sold, in which what is left over of it is, and, since what comes
off is not left over, in which that of the part around it is. From step to step all that can be done with it
comes to straight lines, as with prices that do not step; at a step the lines jump.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from typing import NamedTuple

from gradewright.core.teardown.margins import Does, Line, Margins, Then
from gradewright.core.teardown.sized import whole
from gradewright.core.teardown.tree import NOTHING, Tiers

JUST_BELOW, THERE, JUST_ABOVE = -1, 0, 1


class _Steps(NamedTuple):
    """From how many pieces of a gram on each tier is, and what it pays for each."""

    starts: list[int]
    pays: list[int]

    def at(self, grams: int, side: int) -> int:
        """What is paid for each of so many pieces, or of just less or more."""
        find = bisect_left if side == JUST_BELOW else bisect_right
        return self.pays[max(find(self.starts, grams) - 1, 0)]


class _Opened(NamedTuple):
    """What a node comes to opened where what is left over of it is paid otherwise: at its `best`, and with
    all in it dealt with as `planned`; `parts`: what is done otherwise with the first two that differ.
    """

    best: int
    planned: int
    parts: tuple[Then, ...] = ()


class Ways(NamedTuple):
    """What the device comes to by the weight of one node, as a plan has it and by the others, more or less
    than the plan does at the weight that it has.
    """

    planned: Line
    others: list[Line]

    def better(self, by: int, side: int = THERE) -> Line | None:
        """The best of the others at so much more, or just less or more than that, if it is better than the
        plan there. Of two that are as good that which is better a hair further, else the first.
        """
        best = max(
            self.others,
            key=lambda line: (line.worth + line.each * by, line.each * side),
            default=None,
        )
        return best if best is not None and self.gain(by) > 0 else None

    def gain(self, by: int) -> int:
        """What the best of the others leaves more at so much more; below zero where the plan is better."""
        least = self.planned.worth + self.planned.each * by
        return max((line.worth + line.each * by - least for line in self.others), default=-1)


class Stepping:
    """The ways of a plan by the weight of each node. `gram` pieces are a gram, `size` are a minor unit;
    `inner`: by number how much all that is directly in each weighs.
    """

    def __init__(self, margins: Margins) -> None:
        self._margins, self._tree = margins, margins.tree
        self._plan, self._nets, self._grams = margins.plan, margins.plan.nets, margins.tree.sized.grams
        self.gram, self.size = self._tree.sized.gram, self._nets.size
        self.inner = [0] * len(self._grams)
        for grams, inside in zip(self._grams, self._tree.inside, strict=True):
            if inside is not None:
                self.inner[inside] += grams
        self._steps: dict[int, _Steps] = {}
        self._opened: dict[tuple[int, int], _Opened] = {}

    def breaks(self, number: int) -> list[int]:
        """By how many pieces of a gram the weight of a node has to move until a price steps, in order."""
        grams, left, inside = self._grams[number], self._left(number), self._tree.inside[number]
        found = {start - grams for start in self._starts(self._tree.nodes[number].tiers)}
        found |= {start - left for start in self._starts(self._left_tiers(number))}
        if inside is not None:
            found |= {self._left(inside) - start for start in self._starts(self._left_tiers(inside))}
        return sorted(found)

    def ways(self, number: int, by: int, side: int = THERE) -> Ways:
        """What can be done where a node weighs so much more, or just less or more than that."""
        planned, others = self._in_hand(number, by, side)
        inside = self._tree.inside[number]
        if inside is None:
            now = self._nets.best[0]
            return Ways(_less(planned, now), [_less(one, now) for one in others])
        grams, was = self._grams[number], self._left_pay(inside)
        each = was
        if tiers := self._left_tiers(inside):
            each = self._at(tiers, self._left(inside) - by, -side)
        rests = self._rests(inside)
        off = self._nets.off[number] + ((was - each) * grams if rests else 0)
        slope = -each if rests else 0
        planned, *others = (Line(one.worth + off, one.each + slope, one.then) for one in (planned, *others))
        stays = self._nets.stays[number]
        if stays is not None:
            staying = Line(stays, 0 if rests else each, Then(number, Does.STAY))
            if self._plan.taken[number]:
                others.append(staying)
            else:
                takes = Then(number, Does.TAKE)
                others = [one._replace(then=takes) for one in (planned, *others)]
                planned = staying
        return self._around(number, inside, planned, others, each)

    def _around(self, number: int, inside: int, planned: Line, others: list[Line], left: int) -> Ways:
        """The same in the device. What is left over of the one around it is paid so."""
        margins, apart = self._margins, self._nets.apart[inside]
        nothing = Line(0, 0, Then(number, Does.STAY))
        if apart is None:
            return Ways(nothing, [])
        opened = self._opened_with(inside, left)
        best, as_planned = self._counted(number, inside, left)
        at_best, plans = opened.best - best - apart, opened.planned - as_planned - apart
        siblings = [then for then in opened.parts if then.node != number]
        every = [_less(one, -at_best, siblings) for one in others]
        if not margins.is_opened(inside):
            gap = margins.gap[inside]
            if gap is None:
                return Ways(nothing, [])
            every.append(_less(planned, -at_best))
            return Ways(nothing, [Line(one.worth - gap.by, one.each, gap.then) for one in every])
        if siblings:  # first: nothing is done otherwise there that makes no difference
            every.insert(0, _less(planned, -at_best)._replace(then=siblings[0]))
        slack = margins.slack[inside]
        if slack is not None:
            every.insert(0, Line(-slack.by, 0, slack.then))
        return Ways(_less(planned, -plans), every)

    def _in_hand(self, number: int, by: int, side: int) -> tuple[Line, list[Line]]:
        """What a node comes to once it is in hand, as planned first."""
        node, grams, plan = self._tree.nodes[number], self._grams[number], self._plan
        times, sized = self._nets.times, self._tree.sized
        each = sized.each[number] * times
        sold = Line(self._nets.whole[number], each, Then(number, Does.SELL))
        if node.tiers:
            each = self._at(node.tiers, grams + by, side)
            sold = Line(each * grams, each, sold.then)
        if self._nets.apart[number] is None:
            return sold, []
        left = self._left_pay(number)
        if tiers := self._left_tiers(number):
            left = self._at(tiers, self._left(number) + by, side)
        opened, slope = self._opened_with(number, left), left if self._rests(number) else 0
        best = Line(opened.best, slope, Then(number, Does.OPEN))
        if not plan.opened[number]:
            return sold, [best]
        if opened.parts:
            return Line(opened.planned, slope, best.then), [sold, best._replace(then=opened.parts[0])]
        return best, [sold]

    def _opened_with(self, number: int, left: int) -> _Opened:
        """What a node comes to opened where what is left over of it is paid so."""
        apart = self._nets.apart[number] or 0
        if left == self._left_pay(number):
            return _Opened(apart, apart)
        key = number, left
        found = self._opened.get(key)
        if found is None:
            best = planned = apart + (left - self._left_pay(number)) * self._grams[number]
            parts: list[Then] = []
            for part in self._tree.parts[number]:
                now = self._counted(part, number, self._left_pay(number))[0]
                at_best, as_planned = self._counted(part, number, left)
                best += at_best - now
                planned += as_planned - now
                if at_best > as_planned and len(parts) < 2:
                    parts.append(Then(part, Does.STAY if self._plan.taken[part] else Does.TAKE))
            found = self._opened[key] = _Opened(best, planned, tuple(parts))
        return found

    def _counted(self, part: int, inside: int, left: int) -> tuple[int, int]:
        """What a part of the weight that it has counts for in the one around it, at its best and as planned,
        where what is left over there is paid so: where that was weighed, its price does not step.
        """
        taken = self._nets.best[part] + self._nets.off[part]
        if self._rests(inside):
            taken += (self._left_pay(inside) - left) * self._grams[part]
        stays = self._nets.stays[part]
        if stays is None:
            return taken, taken
        return max(taken, stays), taken if self._plan.taken[part] else stays

    def _left_tiers(self, number: int) -> Tiers:
        """The tiers of what is left over of a node, where its weight follows from the others."""
        opening = self._tree.nodes[number].opening
        return () if opening is None or opening.left_grams is not None else opening.tiers

    def _rests(self, number: int) -> bool:
        """Whether what is left over of a node is what its parts leave of its weight."""
        opening = self._tree.nodes[number].opening
        return opening is not None and opening.left_grams is None

    def _left(self, number: int) -> int:
        """How much is left over of a node once all parts are off."""
        return self._grams[number] - self.inner[number]

    def _left_pay(self, number: int) -> int:
        """What each piece of a gram is paid that is left over of a node."""
        return self._tree.sized.each_left[number] * self._nets.times

    def _starts(self, tiers: Tiers) -> list[int]:
        return self._of(tiers).starts[1:] if tiers else []

    def _at(self, tiers: Tiers, grams: int, side: int) -> int:
        return self._of(tiers).at(grams, side)

    def _of(self, tiers: Tiers) -> _Steps:
        found = self._steps.get(id(tiers))
        if found is None:
            gram, size = self._tree.sized.gram, self.size
            starts = [whole(tier.from_grams, gram) for tier in tiers]
            each = [NOTHING if pay is None else pay.each_gram.likely for _, pay in tiers]
            pays = [whole(one, size // gram) for one in each]
            found = self._steps[id(tiers)] = _Steps(starts, pays)
        return found


def _less(line: Line, by: int, before: list[Then] | None = None) -> Line:
    """A line so much lower; what is done otherwise there begins with what comes `before`, if it does."""
    then = min([line.then, *(before or ())], key=lambda one: one.node)
    return Line(line.worth - by, line.each, then)
