"""Which single price, moved by how much, would change a plan.

A price stands behind many parts. The worth of the best plan is convex in it, so that the nearest price at
which another plan is as good is found by going from the crossing with one better plan to that with the next
(Newton's method, which ends, as every plan met on the way is another). Only the nodes that a price touches,
and those around them, are looked at; all they come to is brought to whole numbers of one size first.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from fractions import Fraction
from math import lcm
from typing import NamedTuple

from gradewright.core.teardown import MINUTES_AN_HOUR, NOTHING, Plan, Tree
from gradewright.core.teardown_margins import Does, Margin, Then
from gradewright.core.teardown_moves import Moves

ONE = Fraction(1)
Exact = tuple[Fraction, Fraction]
"""What something comes to at a price: so much, and so much more with each whole of the price as it is."""
Line = tuple[int, int]
"""The same in whole numbers."""
Rank = Callable[[Line], tuple[int, ...]]
"""What is better at one price is greater."""


def _worth_at(line: Line, factor: Fraction) -> int:
    """What a line comes to, in whole numbers of a size that is the same for all lines at the factor."""
    return line[0] * factor.denominator + line[1] * factor.numerator


def _at(factor: Fraction) -> Rank:
    over, under = factor.numerator, factor.denominator
    return lambda line: (line[0] * under + line[1] * over,)


def _at_any_height(line: Line) -> tuple[int, ...]:
    return line[1], line[0]


class _Choices(NamedTuple):
    """A plan as far as one price touches it: what the device comes to, and what is done with its nodes."""

    worth: Line
    opened: Mapping[int, bool]
    taken: Mapping[int, bool]


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
    return {price: _Priced(tree, plan, price, nodes).moves() for price, nodes in touched.items()}


class _Priced:
    """A tree at another price."""

    def __init__(self, tree: Tree, plan: Plan, price: str, touched: set[int]) -> None:
        self.tree, self.plan = tree, plan
        around = set(touched)
        for number in touched:
            inside = tree.nodes[number].inside
            while inside is not None and inside not in around:
                around.add(inside)
                inside = tree.nodes[inside].inside
        self.order = sorted(around)
        exact = _Exact(tree, plan, price, around)
        whole = [exact.whole(number) for number in self.order]
        apart = [exact.apart(number) for number in self.order]
        off = [exact.off(number) for number in self.order]
        stays = [exact.stays(number) for number in self.order]
        size = lcm(*(part.denominator for line in (*whole, *apart, *off, *stays) if line for part in line))

        def in_whole_numbers(lines: Iterable[Exact | None]) -> dict[int, Line | None]:
            return {
                number: None if line is None else (int(line[0] * size), int(line[1] * size))
                for number, line in zip(self.order, lines, strict=True)
            }

        self.whole, self.apart = in_whole_numbers(whole), in_whole_numbers(apart)
        self.off, self.stays = in_whole_numbers(off), in_whole_numbers(stays)

    def moves(self) -> Moves:
        """The nearest moves of the price."""
        now = self._worth(self.plan.opened.__getitem__, self.plan.taken.__getitem__)
        most, none = self._best(_at_any_height), self._best(_at(NOTHING))
        more = self._nearest(now, most) if most.worth[1] > now[1] else None
        less = self._nearest(now, none) if none.worth[0] > now[0] else None
        return Moves(less, more)

    def _nearest(self, now: Line, found: _Choices) -> Margin:
        while True:
            factor = Fraction(now[0] - found.worth[0], found.worth[1] - now[1])
            better = self._best(_at(factor))
            if _worth_at(better.worth, factor) <= _worth_at(now, factor):
                return Margin(factor - ONE, self._otherwise(found))
            found = better

    def _otherwise(self, found: _Choices) -> Then:
        """The first node, from the device inwards, that is dealt with otherwise than by the plan."""
        reached = {0: True}
        for number in self.order:
            inside = self.tree.nodes[number].inside
            if inside is not None:
                reached[number] = reached.get(inside, False) and found.opened[inside]
            if not reached[number]:
                continue
            if found.taken[number] != self.plan.taken[number]:
                return Then(number, Does.TAKE if found.taken[number] else Does.STAY)
            reached[number] = found.taken[number]
            if reached[number] and found.opened[number] != self.plan.opened[number]:
                return Then(number, Does.OPEN if found.opened[number] else Does.SELL)
        raise AssertionError("two plans of different worth are the same")

    def _best(self, rank: Rank) -> _Choices:
        """The best plan by a rank of lines."""
        opened: dict[int, bool] = {}
        taken: dict[int, bool] = {}
        sums = dict(self.apart)
        best = (0, 0)
        for number in reversed(self.order):
            best, apart = self.whole[number] or best, sums[number]
            opened[number] = apart is not None and rank(apart) > rank(best)
            if apart is not None and opened[number]:
                best = apart
            off, stays = self.off[number], self.stays[number]
            counts = best if off is None else (best[0] + off[0], best[1] + off[1])
            taken[number] = stays is None or rank(counts) > rank(stays)
            self._add(sums, number, counts if stays is None or taken[number] else stays)
        return _Choices(best, opened, taken)

    def _worth(self, opened: Callable[[int], bool], taken: Callable[[int], bool]) -> Line:
        """What the device comes to by a plan, at any price."""
        sums = dict(self.apart)
        best = (0, 0)
        for number in reversed(self.order):
            best = (sums[number] if opened(number) else self.whole[number]) or best
            off, stays = self.off[number], self.stays[number]
            counts = best if off is None else (best[0] + off[0], best[1] + off[1])
            self._add(sums, number, counts if stays is None or taken(number) else stays)
        return best

    def _add(self, sums: dict[int, Line | None], number: int, counts: Line) -> None:
        inside = self.tree.nodes[number].inside
        around = None if inside is None else sums[inside]
        if inside is not None and around is not None:
            sums[inside] = around[0] + counts[0], around[1] + counts[1]


class _Exact(NamedTuple):
    """What the nodes of a tree come to as a price moves, before that is brought to whole numbers."""

    tree: Tree
    plan: Plan
    price: str
    around: set[int]

    def whole(self, number: int) -> Exact:
        """As it is."""
        node = self.tree.nodes[number]
        if node.whole is None or node.whole.price != self.price:
            return self.tree.whole[number], NOTHING
        return node.whole.fixed.likely, node.whole.each_gram.likely * node.grams.likely

    def off(self, number: int) -> Exact:
        """What taking it off brings besides its own worth."""
        edge = self.tree.edges[number]
        labour = -edge.minutes * self.plan.rate / MINUTES_AN_HOUR
        if self._left_by(self.tree.nodes[number].inside):
            return labour, edge.carries
        return edge.carries + labour, NOTHING

    def stays(self, number: int) -> Exact | None:
        """What it comes to where it stays on."""
        stays = self.tree.edges[number].stays
        if stays is None:
            return None
        return (NOTHING, stays) if self._left_by(self.tree.nodes[number].inside) else (stays, NOTHING)

    def apart(self, number: int) -> Exact | None:
        """Opened, without what the price touches among what comes out."""
        node, apart = self.tree.nodes[number], self.plan.apart[number]
        opening = node.opening
        if apart is None or opening is None:
            return None
        counted = apart.net(self.plan.rate)
        for part in self.tree.parts[number]:
            if part in self.around:
                counted -= self._counted(part)
        if opening.left is None or not self._left_by(number):
            return counted, NOTHING
        grams = node.grams if opening.left_grams is None else opening.left_grams
        slope = opening.left.each_gram.likely * grams.likely
        return counted - slope, slope

    def _counted(self, number: int) -> Fraction:
        """What a node counts for in the one around it by the plan."""
        edge, best = self.tree.edges[number], self.plan.best[number]
        if edge.stays is not None and not self.plan.taken[number]:
            return edge.stays
        return best.net(self.plan.rate) + edge.carries - edge.minutes * self.plan.rate / MINUTES_AN_HOUR

    def _left_by(self, number: int | None) -> bool:
        """Whether the price is that of what is left over of a node."""
        opening = None if number is None else self.tree.nodes[number].opening
        return opening is not None and opening.left is not None and opening.left.price == self.price
