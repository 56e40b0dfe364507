"""How far a plan ranges over weights that can all be so at once: no part is lighter than what is in it.

The best of all such weights is that of a linear programme over a tree. What a node comes to is concave in its
own weight, straight between kinks: of what it weighs more than it has to, the parts take what pays most a
gram first, and what is left over takes the rest. So it is solved from the leaves up, exactly, each stretch
being put in order once. The worst is the best of the same with all signs turned.

Where a price steps at a weight, what something comes to is not concave. The least that is, and no less than
that anywhere, is put in its place: no weights lead further than what is told then, though not always so far.
(Weights of which none hangs on another do, and so does a single one.)
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from gradewright.core.teardown.comes import HIGH, LOW, Comes, Grams, corners
from gradewright.core.teardown.sized import Column, whole
from gradewright.core.teardown.tree import Opening, Pay, Plan, Span, Tiers, Tree


class Fitting(NamedTuple):
    """By number what each node weighs, and what is left over of it where that was weighed."""

    spans: Sequence[Grams]
    lefts: Sequence[Grams | None]


def end(tree: Tree, plan: Plan, fitting: Fitting, price: int, which: int) -> Fraction:
    """What the plan comes to at one column of the prices, with the weights at their worse or better end
    (`which`: LOW or HIGH).
    """
    worked = _End(tree, plan, fitting, price, 1 if which == HIGH else -1)
    for number in range(len(tree.nodes) - 1, 0, -1):
        around = tree.inside[number]
        if around is not None and plan.reached[around] and plan.opened[around]:
            worked.put(number, around)
    return worked.most


class _End:
    """One end: of the best of all weights, with `sign` -1 of the worst."""

    def __init__(self, tree: Tree, plan: Plan, fitting: Fitting, price: int, sign: int) -> None:
        self.tree, self.plan, self.sign = tree, plan, sign
        self.spans, self.lefts = fitting
        self.column = Column(tree.nodes, price, tree.sized.gram)
        self.rooms = _rooms(tree, fitting)
        self.inner: list[Comes | None] = [None] * len(tree.nodes)
        self.best_left: dict[int, int] = {}

    @property
    def most(self) -> Fraction:
        """What the device comes to."""
        return Fraction(self.sign * self.comes(0).most, self.column.money)

    def put(self, number: int, around: int) -> None:
        """Put a node, with all in it, in the one around it."""
        outer = self.tree.nodes[around].opening or Opening()
        left = self.left_a_gram(around, outer)
        comes = self.comes(number) if self.plan.taken[number] else Comes(self.spans[number], left)
        if outer.left_grams is None and around not in self.rooms:
            comes.tilt(-left)
        before = self.inner[around]
        if before is None:
            self.inner[around] = comes
        else:
            before.join(comes)

    def comes(self, number: int) -> Comes:
        """What a node in hand comes to by the plan, with all that is in it."""
        node, span = self.tree.nodes[number], self.spans[number]
        opening = node.opening
        if opening is None or not self.plan.opened[number]:
            if node.tiers:
                return self.by_lots(node.tiers, span[LOW], span[HIGH])
            return Comes(span, *self.paid(node.whole))
        a_gram, fixed = self.paid(opening.left)
        weighed, comes = self.lefts[number], self.inner[number] or Comes((0, 0, 0), 0)
        room = None if weighed is None else Comes(weighed, a_gram)
        if number in self.rooms:
            room = self.by_lots(opening.tiers, *self.rooms[number])
        if room is None:
            comes.rest(span, a_gram)
        elif weighed is None:
            comes.hold(span, room)
        else:
            comes.join(room)
            comes.rest(span, 0)
        comes.worth += fixed - self.sign * self.column.cost(opening)
        return comes

    def left_a_gram(self, around: int, outer: Opening) -> int:
        """What a gram of what stays on is paid: the best in any lot that what is left over there may be."""
        if around not in self.rooms:
            return self.paid(outer.left)[0]
        found = self.best_left.get(around)
        if found is None:
            low, high = self.rooms[around]
            starts = [self.pieces(tier.from_grams) for tier in outer.tiers]
            first, last = max(bisect_right(starts, low) - 1, 0), bisect_right(starts, high)
            found = max(self.paid(tier.pay)[0] for tier in outer.tiers[first:last])
            self.best_left[around] = found
        return found

    def by_lots(self, tiers: Tiers, low: int, high: int) -> Comes:
        steps = [(self.pieces(tier.from_grams), self.paid(tier.pay)[0]) for tier in tiers]
        return Comes.straight(corners(steps, low, high))

    def paid(self, pay: Pay | None) -> tuple[int, int]:
        a_gram, fixed = self.column.of(pay)
        return self.sign * a_gram, self.sign * fixed

    def pieces(self, grams: Fraction) -> int:
        return whole(grams, self.tree.sized.gram)


def _rooms(tree: Tree, fitting: Fitting) -> dict[int, tuple[int, int]]:
    """By number of a node of which what is left over is paid by its weight: how much that may be, once all
    parts are off.
    """
    spans, lefts = fitting
    found = {}
    for number, node in enumerate(tree.nodes):
        if node.opening is None or not node.opening.tiers:
            continue
        weighed, (low, _, high) = lefts[number], spans[number]
        if weighed is None:
            low -= sum(spans[part][HIGH] for part in tree.parts[number])
            high -= sum(spans[part][LOW] for part in tree.parts[number])
        else:
            low, _, high = weighed
        found[number] = max(low, 0), max(high, 0)
    return found


def fitting(tree: Tree) -> Fitting:
    """The weights of all nodes, none lighter than what is in it at the least."""
    gram, count = tree.sized.gram, len(tree.nodes)
    least = [0] * count
    spans: list[Grams] = [(0, 0, 0)] * count
    lefts: list[Grams | None] = [None] * count
    for number in range(count - 1, -1, -1):
        node = tree.nodes[number]
        if node.opening is not None and node.opening.left_grams is not None:
            left = lefts[number] = in_pieces(node.opening.left_grams, gram)
            least[number] += left[LOW]
        low, likely, high = in_pieces(node.grams, gram)
        low = max(low, least[number])
        spans[number] = low, likely, max(high, low)
        if node.inside is not None:
            least[node.inside] += low
    return Fitting(spans, lefts)


def in_pieces(span: Span, gram: int) -> Grams:
    """A weight in pieces of a gram."""
    low, likely, high = span
    if low is high:
        exact = whole(low, gram)
        return exact, exact, exact
    return whole(low, gram), whole(likely, gram), whole(high, gram)
