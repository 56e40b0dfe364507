"""Which single price, moved by how much, would change a plan.

A price stands behind many parts. The worth of the best plan is convex in it, so that the nearest price at
which another plan is as good is found by going from the crossing with one better plan to that with the next
(Newton's method, which ends, as every plan met on the way is another). It begins where one part alone would
be dealt with otherwise, which mostly is the nearest already. Of each price only the nodes that it touches,
and those around them, are looked at.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import NamedTuple

from gradewright.core.teardown.margins import Margin, otherwise
from gradewright.core.teardown.moves import Moves
from gradewright.core.teardown.sized import whole
from gradewright.core.teardown.tree import Plan, Tree

Line = tuple[int, int]
"""What something comes to at a price: so much, and so much more with each whole of the price as it is."""
LESS, MORE = -1, 1
Factor = tuple[int, int]
"""A factor of a price: so many of so many, the second above zero."""


class _Choices(NamedTuple):
    """A plan as far as one price touches it: what the device comes to, and what is done with its nodes."""

    worth: Line
    opened: Sequence[bool]
    taken: Sequence[bool]


def price_moves(tree: Tree, plan: Plan) -> dict[str, Moves]:
    """For each price the factors, as a part of it, by which it may move: -1/4 is a quarter less. A price
    does not change its sign.
    """
    figures = _Figures(tree, plan)
    touched: dict[str, set[int]] = defaultdict(set)
    for number, (own, left) in enumerate(zip(figures.price, figures.left_price, strict=True)):
        if own is not None:
            touched[own].add(number)
        if left is not None:
            touched[left].update((number, *tree.parts[number]))
    return {price: _Priced(figures, price, nodes).moves() for price, nodes in touched.items()}


class _Figures:
    """What the nodes of a tree come to, less the time, as whole numbers: `counts` in the one around it by the
    plan. `of_whole` and `of_left` is what a price makes of it as it is, and of what is left over of it;
    `price` and `left_price`, which price that is. `beyond`: a factor beyond every crossing: there more of a
    price counts, whatever else there is.
    """

    def __init__(self, tree: Tree, plan: Plan) -> None:
        self.tree, self.plan, self.nets, sized = tree, plan, plan.nets, tree.sized
        times, nodes = plan.nets.times, tree.nodes
        self.counts = [
            stays if stays is not None and not taken else best + off
            for stays, taken, best, off in zip(
                self.nets.stays, plan.taken, self.nets.best, self.nets.off, strict=True
            )
        ]
        self.carries = [one * times for one in sized.carries] if times != 1 else sized.carries
        pairs = zip(sized.each, sized.grams, strict=True)
        self.of_whole = [each * grams * times for each, grams in pairs]
        self.of_left = list(map(self._left, range(len(nodes))))
        self.price = [None if node.whole is None else node.whole.price for node in nodes]
        lefts = [None if node.opening is None else node.opening.left for node in nodes]
        self.left_price = [None if left is None else left.price for left in lefts]
        self.inside = tree.inside
        columns = (
            self.nets.whole,
            self.nets.apart,
            self.nets.off,
            self.nets.stays,
            self.of_whole,
            self.of_left,
        )
        self.beyond = 1 + 4 * sum(abs(one) for column in columns for one in column if one is not None)
        self.beyond += 4 * sum(map(abs, self.carries)) + 4 * sum(map(abs, self.counts))

    def _left(self, number: int) -> int:
        sized, opening = self.tree.sized, self.tree.nodes[number].opening
        if opening is None:
            return 0
        left = opening.left_grams
        grams = sized.grams[number]
        if left is not None:
            grams = whole(left.likely, sized.gram)
        return sized.each_left[number] * grams * self.nets.times


class _Priced:
    """A tree at another price. `order`: the nodes that are looked at, each before what is inside of it."""

    def __init__(self, figures: _Figures, price: str, touched: Iterable[int]) -> None:
        self.figures, inside = figures, figures.tree.inside
        looked_at = set(touched)
        for number in tuple(looked_at):
            around = inside[number]
            while around is not None and around not in looked_at:
                looked_at.add(around)
                around = inside[around]
        self.order = sorted(looked_at)
        own, left = figures.of_whole, figures.of_left
        self.own = {number: own[number] for number in touched if figures.price[number] == price}
        self.left = {number: left[number] for number in touched if figures.left_price[number] == price}

    def moves(self) -> Moves:
        """The nearest moves of the price."""
        now, less, more = self._as_planned()
        return Moves(
            self._nearest(now, less or self._first(now, LESS), LESS),
            self._nearest(now, more or self._first(now, MORE), MORE),
        )

    def _first(self, now: Line, side: int) -> Factor | None:
        """Where the plan that is best at no price at all, or beyond every crossing, is as good; None where
        that is none but this.
        """
        at = 0 if side == LESS else self.figures.beyond
        worth = self._best((at, 1), side).worth
        if side == MORE and worth[1] > now[1]:
            return now[0] - worth[0], worth[1] - now[1]
        if side == LESS and worth[0] > now[0]:
            return worth[0] - now[0], now[1] - worth[1]
        return None

    def _nearest(self, now: Line, at: Factor | None, side: int) -> Margin | None:
        """The nearest move on a side: `at` another plan is as good."""
        figures = self.figures
        while at is not None:
            found = self._best(at, side)
            fixed, slope = found.worth[0] - now[0], found.worth[1] - now[1]
            if fixed * at[1] + slope * at[0] <= 0:
                then = otherwise(figures.tree, figures.plan, self.order, found.opened, found.taken)
                return Margin(Fraction(at[0] - at[1], at[1]), then)
            at = (-fixed, slope) if slope > 0 else (fixed, -slope)
        return None

    def _best(self, factor: Factor, side: int) -> _Choices:
        """The best plan at the price times a factor; of two that are as good that which is better still
        further on that side.
        """
        over, under = factor
        figures, order = self.figures, self.order
        inside, nets, counts, own_of, left_of = (
            figures.inside,
            figures.nets,
            figures.counts,
            self.own,
            self.left,
        )
        whole, aparts, offs, all_stays = nets.whole, nets.apart, nets.off, nets.stays
        opened, taken = [False] * len(order), [True] * len(order)
        # By how much what is inside of a node comes to more than by the plan at the price as it is.
        inner, inner_slope = [0] * len(inside), [0] * len(inside)
        fixed = slope = 0
        for index in range(len(order) - 1, -1, -1):
            number = order[index]
            slope = own_of.get(number, 0)
            fixed = whole[number] - slope
            apart = aparts[number]
            if apart is not None:
                left = left_of.get(number, 0)
                one, more = apart - left + inner[number], left + inner_slope[number]
                better = (one - fixed) * under + (more - slope) * over
                if better > 0 or (better == 0 and (more - slope) * side > 0):
                    opened[index] = True
                    fixed, slope = one, more
            around = inside[number]
            if around is None:
                break
            stays, staying = all_stays[number], 0
            fixed += offs[number]
            if around in left_of:
                carries = figures.carries[number]
                fixed, slope = fixed - carries, slope + carries
                if stays is not None:
                    stays, staying = 0, stays
            if stays is not None:
                better = (fixed - stays) * under + (slope - staying) * over
                if better < 0 or (better == 0 and (slope - staying) * side <= 0):
                    taken[index] = False
                    fixed, slope = stays, staying
            inner[around] += fixed - counts[number]
            inner_slope[around] += slope
        return _Choices((fixed, slope), opened, taken)

    def _as_planned(self) -> tuple[Line, Factor | None, Factor | None]:
        """What the device comes to by the plan, at any price; and on each side the nearest factor at which
        one node in hand alone is as good otherwise, all in it being dealt with as it is at its best now.
        """
        figures, left_of = self.figures, self.left
        plan, inside, nets, counts = figures.plan, figures.inside, figures.nets, figures.counts
        inner, inner_slope = [0] * len(inside), [0] * len(inside)
        fixed = slope = 0
        nearest = _Nearest()
        for number in reversed(self.order):
            slope = self.own.get(number, 0)
            fixed = nets.whole[number] - slope
            apart = nets.apart[number]
            if apart is not None:
                left = left_of.get(number, 0)
                other, more = apart - left + inner[number], left + inner_slope[number]
                if plan.opened[number]:
                    fixed, slope, other, more = other, more, fixed, slope
                if more != slope and plan.reached[number]:
                    nearest.may_be(fixed - other, more - slope)
            around = inside[number]
            if around is None:
                break
            stays, staying = nets.stays[number], 0
            fixed += nets.off[number]
            if around in left_of:
                carries = figures.carries[number]
                fixed, slope = fixed - carries, slope + carries
                if stays is not None:
                    stays, staying = 0, stays
            if stays is not None:
                other, more = stays, staying
                if not plan.taken[number]:
                    fixed, slope, other, more = other, more, fixed, slope
                if more != slope and plan.reached[around] and plan.opened[around]:
                    nearest.may_be(fixed - other, more - slope)
            inner[around] += fixed - counts[number]
            inner_slope[around] += slope
        return (fixed, slope), nearest.less, nearest.more


class _Nearest:
    """The nearest factors on each side at which something is as good otherwise."""

    def __init__(self) -> None:
        self.less: Factor | None = None
        self.more: Factor | None = None

    def may_be(self, over: int, under: int) -> None:
        """It is so at one over the other; what is done otherwise then is better beyond that."""
        if under > 0:
            if self.more is None or over * self.more[1] < self.more[0] * under:
                self.more = over, under
        elif over < 0 and (self.less is None or over * self.less[1] < self.less[0] * under):
            self.less = -over, -under
