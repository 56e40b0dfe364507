"""How far a plan ranges over weights that can all be so at once: no part is lighter than what is in it.

The best of all such weights is that of a linear programme over a tree. What a node comes to is concave in its
own weight, straight between kinks: of what it weighs more than it has to, the parts take what pays most a
gram first, and what is left over takes the rest. So it is solved from the leaves up, exactly, each stretch
being put in order once. The worst is the best of the same with all signs turned.
"""

from __future__ import annotations

from bisect import insort
from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from gradewright.core.teardown.sized import Column, whole
from gradewright.core.teardown.tree import Opening, Pay, Plan, Span, Tree

LOW, LIKELY, HIGH = range(3)


Grams = tuple[int, int, int]
"""A weight, low, likely and high, in pieces of a gram as the tree has them."""


class Fitting(NamedTuple):
    """By number what each node weighs, and what is left over of it where that was weighed."""

    spans: Sequence[Grams]
    lefts: Sequence[Grams | None]


class _Comes:
    """What something comes to by its weight: `worth` at the least that it can weigh, `at`, and from there on
    so much a gram more for so many grams each, the stretch that pays most first. `stretches` has the poorest
    first, each less `more`, which is added to all of them; `long`: how many grams all of them are.
    """

    __slots__ = ("at", "long", "more", "stretches", "worth")

    def __init__(self, span: Grams, a_gram: int, fixed: int = 0) -> None:
        self.at, self.worth, self.more = span[LOW], fixed + a_gram * span[LOW], 0
        self.long = span[HIGH] - span[LOW]
        self.stretches: list[tuple[int, int]] = [(a_gram, self.long)] if self.long else []

    def tilt(self, a_gram: int) -> None:
        """So much more for each gram of it."""
        self.worth += a_gram * self.at
        self.more += a_gram

    def join(self, other: _Comes) -> None:
        """Become both together, each as heavy as pays most; the fewer stretches are put among the many."""
        if len(other.stretches) > len(self.stretches):
            self.stretches, other.stretches = other.stretches, self.stretches
            self.more, other.more = other.more, self.more
        self.at += other.at
        self.worth += other.worth
        self.long += other.long
        for a_gram, grams in other.stretches:
            insort(self.stretches, (a_gram + other.more - self.more, grams))

    def rest(self, span: Grams, a_gram: int) -> None:
        """Become a piece that has all this in it and weighs what it may; what is left over pays a gram."""
        poor = 0
        while poor < len(self.stretches) and self.stretches[poor][0] + self.more <= 0:
            self.long -= self.stretches[poor][1]  # rather left over
            poor += 1
        room = max(span[HIGH] - self.at, 0)
        self.stretches[:poor] = [(-self.more, room)]
        self.long += room
        self.tilt(a_gram)
        while self.at < span[LOW] and self.stretches:  # it has to be as heavy as that
            paid, grams = self.stretches.pop()
            taken = min(grams, span[LOW] - self.at)
            self.at += taken
            self.worth += (paid + self.more) * taken
            self.long -= taken
            if grams > taken:
                self.stretches.append((paid, grams - taken))
        most = max(span[HIGH] - self.at, 0)
        while self.long > most:  # and no heavier than this
            paid, grams = self.stretches[0]
            cut = min(grams, self.long - most)
            self.stretches[:1] = [(paid, grams - cut)] if grams > cut else []
            self.long -= cut

    @property
    def most(self) -> int:
        """What it comes to where it weighs what pays most."""
        return self.worth + sum(
            (a_gram + self.more) * grams for a_gram, grams in self.stretches if a_gram + self.more > 0
        )


def end(tree: Tree, plan: Plan, fitting: Fitting, price: int, which: int) -> Fraction:
    """What the plan comes to at one column of the prices, with the weights at their worse or better end
    (`which`: LOW or HIGH).
    """
    sign = 1 if which == HIGH else -1
    spans, lefts = fitting
    column = Column(tree.nodes, price, tree.sized.gram)

    def paid(pay: Pay | None) -> tuple[int, int]:
        a_gram, fixed = column.of(pay)
        return sign * a_gram, sign * fixed

    inner: list[_Comes | None] = [None] * len(tree.nodes)
    for number in range(len(tree.nodes) - 1, -1, -1):
        node, opening = tree.nodes[number], tree.nodes[number].opening
        around = node.inside
        if around is not None and not (plan.reached[around] and plan.opened[around]):
            continue
        if opening is None or not plan.opened[number]:
            comes = _Comes(spans[number], *paid(node.whole))
        else:
            a_gram, fixed = paid(opening.left)
            weighed = lefts[number]
            comes = inner[number] or _Comes((0, 0, 0), 0)
            if weighed is not None:
                comes.join(_Comes(weighed, a_gram))
            comes.rest(spans[number], a_gram if weighed is None else 0)
            comes.worth += fixed - sign * column.cost(opening)
        if around is None:
            return Fraction(sign * comes.most, column.money)
        outer = tree.nodes[around].opening or Opening()
        left = paid(outer.left)[0]
        if not plan.taken[number]:
            comes = _Comes(spans[number], left)
        if outer.left_grams is None:
            comes.tilt(-left)
        before = inner[around]
        if before is None:
            inner[around] = comes
        else:
            before.join(comes)
    raise ValueError("the first node is the device, which is in nothing")


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
