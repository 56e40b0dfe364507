"""Which single weight or price, moved by how much, would change a plan.

A weight changes what its part comes to, opened and whole, and what is left over around it, by so much a gram:
the nearest weight at which another plan is as good follows from the margins at once. A price stands behind
many parts; the worth of the best plan is convex in it, so that the nearest price at which another plan is as
good is found by going from the crossing with one better plan to that with the next (Newton's method, which
ends, as every plan met on the way is another).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from fractions import Fraction
from typing import NamedTuple

from gradewright.core.teardown import MINUTES_AN_HOUR, NOTHING, Plan, Tree
from gradewright.core.teardown_margins import Does, Margin, Margins, Then

ONE = Fraction(1)


class Moves(NamedTuple):
    """The nearest moves that change a plan: by so much less, and by so much more; None where none does."""

    less: Margin | None = None
    more: Margin | None = None


def weight_moves(margins: Margins) -> tuple[Moves, ...]:
    """For each node the grams by which its weight may move; within what its parts and what is around it
    allow, all other weights being what they are.
    """
    tree = margins.tree
    inside = [sum((tree.nodes[part].grams.likely for part in parts), NOTHING) for parts in tree.parts]
    found = []
    for number, node in enumerate(tree.nodes):
        around = None if node.inside is None else tree.nodes[node.inside]
        most = None if around is None else around.grams.likely - inside[node.inside or 0]
        least = inside[number] - node.grams.likely
        possible = [
            Margin(by, then)
            for by, then in _crossings(margins, number)
            if by >= least and (most is None or by <= most)
        ]
        less = max((one for one in possible if one.by <= 0), default=None)
        more = min((one for one in possible if one.by >= 0), default=None)
        found.append(Moves(less, more))
    return tuple(found)


def _crossings(margins: Margins, number: int) -> Iterator[tuple[Fraction, Then]]:
    """The grams at which another plan is as good, nearest or not."""
    now, *others = margins.lines(number)
    inside = margins.tree.nodes[number].inside
    if margins.is_opened(inside):
        for other in others:
            if other.each_gram != now.each_gram:
                yield (now.worth - other.worth) / (other.each_gram - now.each_gram), other.then
        slack = None if inside is None else margins.slack[inside]
        if slack is not None and now.each_gram:
            yield -slack.by / now.each_gram, slack.then
        return
    gap = None if inside is None else margins.gap[inside]
    if gap is not None:
        for line in (now, *others):
            if line.each_gram:
                yield (now.worth + gap.by - line.worth) / line.each_gram, gap.then


class _Linear(NamedTuple):
    """What something comes to at a price: so much, and so much more with each whole of the price."""

    fixed: Fraction
    slope: Fraction

    def plus(self, fixed: Fraction, slope: Fraction) -> _Linear:
        return _Linear(self.fixed + fixed, self.slope + slope)

    def at(self, factor: Fraction) -> Fraction:
        return self.fixed + self.slope * factor

    def crosses(self, other: _Linear) -> Fraction:
        return (self.fixed - other.fixed) / (other.slope - self.slope)


Measure = Callable[[_Linear], tuple[Fraction, ...]]


def _at(factor: Fraction) -> Measure:
    return lambda line: (line.at(factor),)


class _Choices(NamedTuple):
    """A plan as far as one price touches it: what the device comes to, and what is done otherwise."""

    worth: _Linear
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
    """A tree at another price: only the nodes that the price touches, and those around, are looked at."""

    def __init__(self, tree: Tree, plan: Plan, price: str, touched: set[int]) -> None:
        self.tree, self.plan = tree, plan
        around = set(touched)
        for number in touched:
            inside = tree.nodes[number].inside
            while inside is not None and inside not in around:
                around.add(inside)
                inside = tree.nodes[inside].inside
        self.order = sorted(around)
        self.whole = {number: self._whole(number, price) for number in self.order}
        self.lefts = {number: self._left(number, price) for number in self.order}
        self.edges = {number: self._edge(number) for number in self.order}
        self.opens = {number: self._constant(number) for number in self.order}

    def moves(self) -> Moves:
        """The nearest moves of the price."""
        now = self._by_plan()
        most = self._best(lambda line: (line.slope, line.fixed))
        none = self._best(_at(NOTHING))
        more = self._nearest(now, most) if most.worth.slope > now.slope else None
        less = self._nearest(now, none) if none.worth.fixed > now.fixed else None
        return Moves(less, more)

    def _nearest(self, now: _Linear, found: _Choices) -> Margin:
        while True:
            factor = now.crosses(found.worth)
            better = self._best(_at(factor))
            if better.worth.at(factor) <= now.at(factor):
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

    def _by_plan(self) -> _Linear:
        """What the device comes to by the plan, at any price."""
        return self._worth(lambda number, _: self.plan.opened[number], lambda n, *_: self.plan.taken[n])

    def _best(self, measure: Measure) -> _Choices:
        opened: dict[int, bool] = {}
        taken: dict[int, bool] = {}

        def opens(number: int, apart: _Linear) -> bool:
            opened[number] = measure(apart) > measure(self.whole[number])
            return opened[number]

        def takes(number: int, off: _Linear, stays: _Linear | None) -> bool:
            taken[number] = stays is None or measure(off) > measure(stays)
            return taken[number]

        return _Choices(self._worth(opens, takes), opened, taken)

    def _worth(
        self,
        opens: Callable[[int, _Linear], bool],
        takes: Callable[[int, _Linear, _Linear | None], bool],
    ) -> _Linear:
        sums = dict(self.opens)
        best = _Linear(NOTHING, NOTHING)
        for number in reversed(self.order):
            apart = sums[number]
            best = self.whole[number]
            if opens(number, apart if apart is not None else best) and apart is not None:
                best = apart
            off, stays = self.edges[number]
            off = best.plus(*off)
            counts = off if takes(number, off, stays) or stays is None else stays
            inside = self.tree.nodes[number].inside
            around = None if inside is None else sums[inside]
            if inside is not None and around is not None:
                sums[inside] = around.plus(*counts)
        return best

    def _whole(self, number: int, price: str) -> _Linear:
        pay = self.tree.nodes[number].whole
        if pay is None or pay.price != price:
            return _Linear(self.tree.whole[number], NOTHING)
        return _Linear(pay.fixed.likely, pay.each_gram.likely * self.tree.nodes[number].grams.likely)

    def _left(self, number: int, price: str) -> bool:
        opening = self.tree.nodes[number].opening
        return opening is not None and opening.left is not None and opening.left.price == price

    def _edge(self, number: int) -> tuple[_Linear, _Linear | None]:
        """What taking a node off brings besides its own worth, and what it comes to where it stays on."""
        edge, inside = self.tree.edges[number], self.tree.nodes[number].inside
        labour = -edge.minutes * self.plan.rate / MINUTES_AN_HOUR
        if inside is None or not self.lefts[inside]:
            stays = None if edge.stays is None else _Linear(edge.stays, NOTHING)
            return _Linear(edge.carries + labour, NOTHING), stays
        return _Linear(labour, edge.carries), None if edge.stays is None else _Linear(NOTHING, edge.stays)

    def _constant(self, number: int) -> _Linear | None:
        """What opening a node comes to, without what the price touches among what comes out."""
        node, apart = self.tree.nodes[number], self.plan.apart[number]
        if apart is None or node.opening is None:
            return None
        counted = apart.net(self.plan.rate)
        for part in self.tree.parts[number]:
            if part in self.whole:
                edge = self.tree.edges[part]
                labour = edge.minutes * self.plan.rate / MINUTES_AN_HOUR
                taken = self.plan.best[part].net(self.plan.rate) + edge.carries - labour
                counted -= taken if self.plan.taken[part] or edge.stays is None else edge.stays
        opening = node.opening
        if not self.lefts[number] or opening.left is None:
            return _Linear(counted, NOTHING)
        grams = node.grams if opening.left_grams is None else opening.left_grams
        slope = opening.left.each_gram.likely * grams.likely
        return _Linear(counted - slope, slope)
