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

from gradewright.core.teardown.tree import NOTHING, Opening, Pay, Plan, Span, Tree

LOW, LIKELY, HIGH = range(3)


class Fitting(NamedTuple):
    """By number what each node weighs, and what is left over of it where that was weighed."""

    spans: Sequence[Span]
    lefts: Sequence[Span | None]


class _Comes:
    """What something comes to by its weight: `worth` at the least that it can weigh, `at`, and from there on
    so much a gram more for so many grams each, the stretch that pays most first. `stretches` has the poorest
    first, each less `more`, which is added to all of them; `long`: how many grams all of them are.
    """

    __slots__ = ("at", "long", "more", "stretches", "worth")

    def __init__(self, span: Span, a_gram: Fraction, fixed: Fraction = NOTHING) -> None:
        self.at, self.worth, self.more = span.low, fixed + a_gram * span.low, NOTHING
        self.long = span.high - span.low
        self.stretches: list[tuple[Fraction, Fraction]] = [(a_gram, self.long)] if self.long else []

    def tilt(self, a_gram: Fraction) -> None:
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

    def rest(self, span: Span, a_gram: Fraction) -> None:
        """Become a piece that has all this in it and weighs what it may; what is left over pays a gram."""
        poor = 0
        while poor < len(self.stretches) and self.stretches[poor][0] + self.more <= 0:
            self.long -= self.stretches[poor][1]  # rather left over
            poor += 1
        room = max(span.high - self.at, NOTHING)
        self.stretches[:poor] = [(-self.more, room)]
        self.long += room
        self.tilt(a_gram)
        while self.at < span.low and self.stretches:  # it has to be as heavy as that
            paid, grams = self.stretches.pop()
            taken = min(grams, span.low - self.at)
            self.at += taken
            self.worth += (paid + self.more) * taken
            self.long -= taken
            if grams > taken:
                self.stretches.append((paid, grams - taken))
        most = max(span.high - self.at, NOTHING)
        while self.long > most:  # and no heavier than this
            paid, grams = self.stretches[0]
            cut = min(grams, self.long - most)
            self.stretches[:1] = [(paid, grams - cut)] if grams > cut else []
            self.long -= cut

    @property
    def most(self) -> Fraction:
        """What it comes to where it weighs what pays most."""
        return self.worth + sum(
            ((a_gram + self.more) * grams for a_gram, grams in self.stretches if a_gram + self.more > 0),
            NOTHING,
        )


def end(tree: Tree, plan: Plan, fitting: Fitting, price: int, which: int) -> Fraction:
    """What the plan comes to at one column of the prices, with the weights at their worse or better end
    (`which`: LOW or HIGH).
    """
    sign = 1 if which == HIGH else -1
    spans, lefts = fitting

    def paid(pay: Pay | None) -> tuple[Fraction, Fraction]:
        return (NOTHING, NOTHING) if pay is None else (sign * pay.each_gram[price], sign * pay.fixed[price])

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
            comes = inner[number] or _Comes(Span.exactly(NOTHING), NOTHING)
            if weighed is not None:
                comes.join(_Comes(weighed, a_gram))
            comes.rest(spans[number], a_gram if weighed is None else NOTHING)
            comes.worth += fixed - sign * opening.cost
        if around is None:
            return sign * comes.most
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
    least = [NOTHING] * len(tree.nodes)
    spans: list[Span] = [node.grams for node in tree.nodes]
    lefts: list[Span | None] = [None] * len(tree.nodes)
    for number in range(len(tree.nodes) - 1, -1, -1):
        node = tree.nodes[number]
        if node.opening is not None and node.opening.left_grams is not None:
            lefts[number] = node.opening.left_grams
            least[number] += node.opening.left_grams.low
        low = max(node.grams.low, least[number])
        spans[number] = Span(low, node.grams.likely, max(node.grams.high, low))
        if node.inside is not None:
            least[node.inside] += low
    return Fitting(spans, lefts)
