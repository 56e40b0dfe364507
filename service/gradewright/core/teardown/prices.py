"""Which single price, moved by how much, would change a plan.

A price stands behind many parts. The worth of the best plan is convex in it, so that the nearest price at
which another plan is as good is found by going from the crossing with one better plan to that with the next
(Newton's method, which ends, as every plan met on the way is another). All that nodes come to is brought to
whole numbers of one size once; of each price only the nodes that it touches, and those around them, are
looked at.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from fractions import Fraction
from math import lcm
from typing import NamedTuple

from gradewright.core.teardown.margins import Margin, otherwise
from gradewright.core.teardown.moves import Moves
from gradewright.core.teardown.tree import MINUTES_AN_HOUR, NOTHING, Plan, Tree

ONE = Fraction(1)
Line = tuple[int, int]
"""What something comes to at a price: so much, and so much more with each whole of the price as it is."""


class _Choices(NamedTuple):
    """A plan as far as one price touches it: what the device comes to, and what is done with its nodes."""

    worth: Line
    opened: Sequence[bool]
    taken: Sequence[bool]


def price_moves(tree: Tree, plan: Plan) -> dict[str, Moves]:
    """For each price the factors, as a part of it, by which it may move: -1/4 is a quarter less. A price
    does not change its sign.
    """
    touched: dict[str, set[int]] = defaultdict(set)
    for number, node in enumerate(tree.nodes):
        if node.whole is not None and node.whole.price is not None:
            touched[node.whole.price].add(number)
        left = None if node.opening is None else node.opening.left
        if left is not None and left.price is not None:
            touched[left.price].update((number, *tree.parts[number]))
    figures = _Figures(tree, plan)
    return {price: _Priced(figures, price, nodes).moves() for price, nodes in touched.items()}


class _Figures:
    """What the nodes of a tree come to, as whole numbers of one size: `counts` in the one around it by the
    plan, `apart` opened, less the time. `of_whole` and `of_left` is what a price makes of it.
    """

    def __init__(self, tree: Tree, plan: Plan) -> None:
        self.tree, self.plan = tree, plan
        rate = plan.rate / MINUTES_AN_HOUR
        off = [edge.carries - edge.minutes * rate for edge in tree.edges]
        counts = [
            edge.stays if edge.stays is not None and not taken else best.net(plan.rate) + net
            for edge, taken, best, net in zip(tree.edges, plan.taken, plan.best, off, strict=True)
        ]
        columns: list[list[Fraction]] = [
            list(tree.whole),
            [edge.carries for edge in tree.edges],
            [edge.stays or NOTHING for edge in tree.edges],
            off,
            counts,
            [NOTHING if apart is None else apart.net(plan.rate) for apart in plan.apart],
            [n.whole.each_gram.likely * n.grams.likely if n.whole else NOTHING for n in tree.nodes],
            list(map(self._left, range(len(tree.nodes)))),
        ]
        size = lcm(*{figure.denominator for column in columns for figure in column})
        sized = [[one.numerator * (size // one.denominator) for one in column] for column in columns]
        self.whole, self.carries, self.stays, self.off = sized[:4]
        self.counts, self.apart, self.of_whole, self.of_left = sized[4:]

    def _left(self, number: int) -> Fraction:
        node = self.tree.nodes[number]
        if node.opening is None or node.opening.left is None:
            return NOTHING
        grams = node.grams if node.opening.left_grams is None else node.opening.left_grams
        return node.opening.left.each_gram.likely * grams.likely


class _Priced:
    """A tree at another price: lists over the nodes that are looked at, each before what is inside of it."""

    def __init__(self, figures: _Figures, price: str, touched: Iterable[int]) -> None:
        self.tree, self.plan, self.price = figures.tree, figures.plan, price
        nodes = figures.tree.nodes
        looked_at = set(touched)
        for number in tuple(looked_at):
            inside = nodes[number].inside
            while inside is not None and inside not in looked_at:
                looked_at.add(inside)
                inside = nodes[inside].inside
        self.order = sorted(looked_at)
        place = {number: index for index, number in enumerate(self.order)}
        self.around: list[int] = []
        self.whole: list[Line] = []
        self.apart: list[list[int]] = []
        self.off: list[Line] = []
        self.stays: list[Line | None] = []
        for number in self.order:
            node, edge = nodes[number], figures.tree.edges[number]
            inside = node.inside
            paid = figures.whole[number]
            own = figures.of_whole[number] if node.whole is not None and node.whole.price == price else 0
            left = figures.of_left[number] if self._is_left_of(number) else 0
            self.whole.append((paid - own, own))
            self.apart.append([figures.apart[number] - left, left])
            carries, stays = figures.carries[number], figures.stays[number]
            if inside is not None and self._is_left_of(inside):
                self.off.append((figures.off[number] - carries, carries))
                self.stays.append(None if edge.stays is None else (0, stays))
            else:
                self.off.append((figures.off[number], 0))
                self.stays.append(None if edge.stays is None else (stays, 0))
            self.around.append(-1 if inside is None else place[inside])
            if inside is not None:  # what is looked at is counted anew
                self.apart[place[inside]][0] -= figures.counts[number]

    def moves(self) -> Moves:
        """The nearest moves of the price."""
        now = self._worth()
        # Beyond every crossing: there more of the price counts, whatever else there is.
        beyond = 1 + 2 * sum(
            abs(fixed) for line in (*self.whole, *self.apart, *self.off) for fixed in line[:1]
        )
        beyond += 2 * sum(abs(line[0]) for line in self.stays if line is not None)
        most, none = self._best(Fraction(beyond)), self._best(NOTHING)
        more = self._nearest(now, most) if most.worth[1] > now[1] else None
        less = self._nearest(now, none) if none.worth[0] > now[0] else None
        return Moves(less, more)

    def _nearest(self, now: Line, found: _Choices) -> Margin:
        while True:
            factor = Fraction(now[0] - found.worth[0], found.worth[1] - now[1])
            better = self._best(factor)
            fixed, slope = better.worth[0] - now[0], better.worth[1] - now[1]
            if fixed * factor.denominator + slope * factor.numerator <= 0:
                then = otherwise(self.tree, self.plan, self.order, found.opened, found.taken)
                return Margin(factor - ONE, then)
            found = better

    def _best(self, factor: Fraction) -> _Choices:
        """The best plan at the price times a factor."""
        over, under = factor.numerator, factor.denominator
        count = len(self.order)
        opened, taken = [False] * count, [True] * count
        sums = [[*line] for line in self.apart]
        nodes = self.tree.nodes
        fixed = slope = 0
        for index in range(count - 1, -1, -1):
            fixed, slope = self.whole[index]
            if nodes[self.order[index]].opening is not None:
                one, more = sums[index]
                if (one - fixed) * under + (more - slope) * over > 0:
                    opened[index] = True
                    fixed, slope = one, more
            around = self.around[index]
            if around < 0:
                break
            off, stays = self.off[index], self.stays[index]
            counts, counts_slope = fixed + off[0], slope + off[1]
            if stays is not None and (counts - stays[0]) * under + (counts_slope - stays[1]) * over <= 0:
                taken[index] = False
                counts, counts_slope = stays
            sums[around][0] += counts
            sums[around][1] += counts_slope
        return _Choices((fixed, slope), opened, taken)

    def _worth(self) -> Line:
        """What the device comes to by the plan, at any price."""
        sums = [[*line] for line in self.apart]
        fixed = slope = 0
        for index in range(len(self.order) - 1, -1, -1):
            number, around = self.order[index], self.around[index]
            fixed, slope = sums[index] if self.plan.opened[number] else self.whole[index]
            if around < 0:
                break
            off, stays = self.off[index], self.stays[index]
            counts = fixed + off[0], slope + off[1]
            if stays is not None and not self.plan.taken[number]:
                counts = stays
            sums[around][0] += counts[0]
            sums[around][1] += counts[1]
        return fixed, slope

    def _is_left_of(self, number: int) -> bool:
        """Whether the price is that of what is left over of a node."""
        opening = self.tree.nodes[number].opening
        return opening is not None and opening.left is not None and opening.left.price == self.price
