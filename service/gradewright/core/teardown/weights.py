"""Parts that have not been weighed: how far a plan's worth ranges with them, what weighing would be worth.

A weight that is known from low to high is held to be low in a quarter of cases, likely in half of them, high
in a quarter: low and high are read as quartiles. (Common practice for three points, no source.) What knowing
it is worth is what the best plan at each of the three comes to more, on average, than the plan that is
followed without knowing; all other weights being likely. It is never below zero, and zero where the plan
would be the same anyway.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import partial
from itertools import chain
from typing import NamedTuple

from gradewright.core.teardown.comes import HIGH, LIKELY, LOW, Grams
from gradewright.core.teardown.margins import Margins
from gradewright.core.teardown.sized import Column, whole
from gradewright.core.teardown.stepping import Stepping
from gradewright.core.teardown.tree import Plan, Span, Tree
from gradewright.core.teardown.within import end, fitting, in_pieces

TIMES, OUT_OF = (1, 2, 1), 4
HOW_OFTEN = Span(*(Fraction(times, OUT_OF) for times in TIMES))


class Ranges(NamedTuple):
    """What a plan comes to before the time is paid: over prices and weights, and over the weights alone.

    No weights within what was said lead further.
    """

    both: Span
    weights: Span


def ranges(tree: Tree, plan: Plan, *, within: bool = True) -> Ranges:
    """How far the worth of a plan ranges; not `within`: also over weights of parts that are heavier together
    than what they are in, so that something below nothing would be left over.
    """
    paid = plan.worth.paid
    if within and _ranged(tree):
        at = partial(end, tree, plan, fitting(tree))
        by_weights = Span(at(LIKELY, LOW), paid, at(LIKELY, HIGH))
        return Ranges(Span(at(LOW, LOW), paid, at(HIGH, HIGH)), by_weights)
    by_weights = Span(_end(tree, plan, LIKELY, LOW), paid, _end(tree, plan, LIKELY, HIGH))
    return Ranges(Span(_end(tree, plan, LOW, LOW), paid, _end(tree, plan, HIGH, HIGH)), by_weights)


def _ranged(tree: Tree) -> bool:
    """Whether any weight is not known exactly; else each for itself is all of them together."""
    lefts = (node.opening.left_grams for node in tree.nodes if node.opening is not None)
    spans = (node.grams for node in tree.nodes)
    return any(span is not None and not span.known for span in chain(spans, lefts))


def _end(tree: Tree, plan: Plan, price: int, which: int) -> Fraction:
    """What the plan comes to at one column of the prices, with every weight, each for itself, at its worse or
    better end.
    """
    total, gram = 0, tree.sized.gram
    column = Column(tree.nodes, price, gram)
    each_gram = [0] * len(tree.nodes)
    for number, node in enumerate(tree.nodes):
        if not plan.reached[number]:
            continue
        if not plan.opened[number] or node.opening is None:
            each, fixed = column.of(node.whole)
            each_gram[number] += each
            total += fixed
            continue
        rate, fixed = column.of(node.opening.left)
        total += fixed - column.cost(node.opening)
        left = node.opening.left_grams
        if left is None:
            each_gram[number] += rate
        else:
            total += rate * whole(left[which if rate > 0 else HIGH - which], gram)
        for part in tree.parts[number]:
            if left is None and plan.taken[part]:
                each_gram[part] -= rate
            elif left is not None and not plan.taken[part]:
                each_gram[part] += rate
    for node, rate in zip(tree.nodes, each_gram, strict=True):
        if rate:
            total += rate * whole(node.grams[which if rate > 0 else HIGH - which], gram)
    return Fraction(total, column.money)


def weighing(margins: Margins, *, within: bool = True) -> dict[int, Fraction]:
    """By number, for every node whose weight has a range, what knowing it beforehand would be worth; not
    `within`: also where it is lighter than what is in it, or heavier than there is room for.
    """
    tree = margins.tree
    inner, gram = _inner(tree) if within else [], tree.sized.gram
    stepping, found = Stepping(margins), {}
    for number, node in enumerate(tree.nodes):
        if not node.grams.known:
            grams = in_pieces(node.grams, gram)
            possible = _possible(tree, number, grams, inner) if within else grams
            least, most = possible[LOW] - grams[LIKELY], possible[HIGH] - grams[LIKELY]
            if any(least <= by <= most for by in stepping.breaks(number)):
                found[number] = _knowing_stepwise(stepping, number, possible)
            else:
                found[number] = _knowing(margins, number, possible)
    return found


def _possible(tree: Tree, number: int, grams: Grams, inner: Sequence[int]) -> Grams:
    """What a node can weigh where all others weigh what is likely. `inner`: what is in each."""
    (low, likely, high), inside = grams, tree.inside[number]
    if inside is not None:
        high = min(high, likely + max(tree.sized.grams[inside] - inner[inside], 0))
    return min(max(low, inner[number]), likely), likely, high


def _inner(tree: Tree) -> list[int]:
    """By number what is in a node, with what is left over of it where that was weighed."""
    found = [0] * len(tree.nodes)
    grams, gram = tree.sized.grams, tree.sized.gram
    for number, node in enumerate(tree.nodes):
        left = None if node.opening is None else node.opening.left_grams
        if left is not None:
            found[number] += whole(left.likely, gram)
        if node.inside is not None:
            found[node.inside] += grams[number]
    return found


def _knowing_stepwise(stepping: Stepping, number: int, grams: Grams) -> Fraction:
    """The same where prices step."""
    gained = 0
    for times, weight in zip(TIMES, grams, strict=True):
        by = weight - grams[LIKELY]
        gained += times * max(stepping.ways(number, by).gain(by), 0)
    return Fraction(gained, OUT_OF * stepping.size)


def _knowing(margins: Margins, number: int, grams: Grams) -> Fraction:
    lines = margins.lines(number)
    now = lines[0]
    inside = margins.tree.inside[number]
    opened = margins.is_opened(inside)
    slack = None if inside is None else margins.slack[inside]
    gap = None if inside is None or opened else margins.gap[inside]
    gained = 0
    for times, weight in zip(TIMES, grams, strict=True):
        more = weight - grams[LIKELY]
        best = max(line.worth + line.each * more for line in lines) - now.worth
        if opened:
            best = best if slack is None else max(best, -slack.by)
            gained += times * (best - now.each * more)
        elif gap is not None:
            gained += times * max(0, best - gap.by)
    return Fraction(gained, OUT_OF * margins.plan.nets.size)
