"""What is left over of which nobody said what it is: what it would have to bring for a plan to change.

It counts as nothing in the plan, so that the plan holds only as long as it brings little enough, and costs
little enough. All of it is taken to bring the same a gram. The worth of the best plan is convex in that, and
the nearest figure at which another plan is as good is found by going from the crossing with one better plan
to that with the next (Newton's method, which ends, as every plan met on the way is another).
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple

from gradewright.core.teardown.margins import Margin, otherwise
from gradewright.core.teardown.moves import Moves
from gradewright.core.teardown.tree import Pay, Plan, Span, Tree, left_over, plan

BEYOND = Fraction(10) ** 30
"""Minor units a gram: more than anything could bring, so that whatever leaves more of it is the best plan."""


class _Line(NamedTuple):
    """What a plan leaves after the time is paid, and more with each unit that a gram of it brings."""

    net: Fraction
    grams: Fraction


def unnamed_moves(tree: Tree, now: Plan, unnamed: Collection[int]) -> Moves:
    """The minor units a gram that what is left of the nodes of these numbers may bring (`more`), or cost
    (`less`, below zero), until another plan is as good.
    """
    if not unnamed:
        return Moves()
    as_it_is = _Line(now.net, _grams(tree, now, unnamed))
    return Moves(*(_nearest(tree, now, as_it_is, unnamed, start) for start in (-BEYOND, BEYOND)))


def _nearest(tree: Tree, now: Plan, as_it_is: _Line, unnamed: Collection[int], at: Fraction) -> Margin | None:
    """The nearest figure on the side of `at`, that is beyond all of them; None where there is none."""
    then = None
    while True:
        found = plan(_paying(tree, unnamed, at), now.rate)
        net, grams = found.net, _grams(tree, found, unnamed)
        if grams == as_it_is.grams or net <= as_it_is.net + at * as_it_is.grams:
            return then
        at = (as_it_is.net - (net - at * grams)) / (grams - as_it_is.grams)
        numbers = range(len(tree.nodes))
        then = Margin(at, otherwise(tree, now, numbers, found.opened, found.taken))


def _paying(tree: Tree, unnamed: Collection[int], each_gram: Fraction) -> Tree:
    """The same device where what is left of these nodes brings so much a gram."""
    changed, paid = {}, Pay(Span.exactly(each_gram))
    for number in unnamed:
        node = tree.nodes[number]
        if node.opening is not None:
            changed[number] = replace(node, opening=replace(node.opening, left=paid))
    return tree.paid(changed)


def _grams(tree: Tree, found: Plan, unnamed: Collection[int]) -> Fraction:
    """How much of it a plan leaves."""
    left = left_over(tree, found.taken)
    opened = (left[number] for number in unnamed if found.reached[number] and found.opened[number])
    return Fraction(sum(opened), tree.sized.gram)
