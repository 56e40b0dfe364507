"""Parts that have not been weighed: how far a plan's worth ranges with them, what weighing would be worth.

A weight that is known from low to high is held to be low in a quarter of cases, likely in half of them, high
in a quarter: low and high are read as quartiles. (Common practice for three points, no source.) What knowing
it is worth is what the best plan at each of the three comes to more, on average, than the plan that is
followed without knowing; all other weights being likely. It is never below zero, and zero where the plan
would be the same anyway.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from fractions import Fraction
from functools import partial
from itertools import chain
from typing import NamedTuple

from gradewright.core.teardown.margins import Margins
from gradewright.core.teardown.sized import MINUTES_AN_HOUR
from gradewright.core.teardown.tree import NOTHING, Pay, Plan, Span, Tree
from gradewright.core.teardown.within import HIGH, LIKELY, LOW, end, fitting

HOW_OFTEN = Span(Fraction(1, 4), Fraction(1, 2), Fraction(1, 4))


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
    return any(span is not None and span.low != span.high for span in chain(spans, lefts))


def _end(tree: Tree, plan: Plan, price: int, which: int) -> Fraction:
    """What the plan comes to at one column of the prices, with every weight, each for itself, at its worse or
    better end.
    """
    total = NOTHING
    each_gram: dict[int, Fraction] = defaultdict(Fraction)

    def pay(paid: Pay | None) -> Fraction:
        nonlocal total
        if paid is None:
            return NOTHING
        total += paid.fixed[price]
        return paid.each_gram[price]

    for number, node in enumerate(tree.nodes):
        if not plan.reached[number]:
            continue
        if not plan.opened[number] or node.opening is None:
            each_gram[number] += pay(node.whole)
            continue
        total -= node.opening.cost
        rate, left = pay(node.opening.left), node.opening.left_grams
        if left is None:
            each_gram[number] += rate
        else:
            total += rate * left[which if rate > 0 else HIGH - which]
        for part in tree.parts[number]:
            if left is None and plan.taken[part]:
                each_gram[part] -= rate
            elif left is not None and not plan.taken[part]:
                each_gram[part] += rate
    for number, rate in each_gram.items():
        total += rate * tree.nodes[number].grams[which if rate > 0 else HIGH - which]
    return total


def weighing(margins: Margins, *, within: bool = True) -> dict[int, Fraction]:
    """By number, for every node whose weight has a range, what knowing it beforehand would be worth; not
    `within`: also where it is lighter than what is in it, or heavier than there is room for.
    """
    tree = margins.tree
    inner = _inner(tree) if within else []
    return {
        number: _knowing(margins, number, _possible(tree, number, inner) if within else node.grams)
        for number, node in enumerate(tree.nodes)
        if node.grams.low != node.grams.high
    }


def _possible(tree: Tree, number: int, inner: Sequence[Fraction]) -> Span:
    """What a node can weigh where all others weigh what is likely. `inner`: what is in each."""
    (low, likely, high), inside = tree.nodes[number].grams, tree.nodes[number].inside
    if inside is not None:
        high = min(high, likely + max(tree.nodes[inside].grams.likely - inner[inside], NOTHING))
    return Span(min(max(low, inner[number]), likely), likely, high)


def _inner(tree: Tree) -> list[Fraction]:
    """By number what is in a node, with what is left over of it where that was weighed."""
    found = [0] * len(tree.nodes)
    grams, gram = tree.sized.grams, tree.sized.gram
    for number, node in enumerate(tree.nodes):
        left = None if node.opening is None else node.opening.left_grams
        if left is not None:
            found[number] += left.likely.numerator * (gram // left.likely.denominator)
        if node.inside is not None:
            found[node.inside] += grams[number]
    return [Fraction(one, gram) for one in found]


def weighing_whole(tree: Tree, plan: Plan) -> Fraction:
    """What knowing the weight of the device would be worth, where everything in it is a share of that."""
    opening, apart, whole, grams = tree.nodes[0].opening, plan.apart(0), tree.whole(0), tree.nodes[0].grams
    if opening is None or apart is None:
        return NOTHING
    fixed, labour = opening.fixed, apart.minutes * plan.rate / MINUTES_AN_HOUR
    gained = NOTHING
    for often, weight in zip(HOW_OFTEN, grams, strict=True):
        times = weight / grams.likely
        opened, sold = (apart.paid - fixed) * times + fixed - labour, whole * times
        gained += often * (max(opened, sold) - (opened if plan.opened[0] else sold))
    return gained


def _knowing(margins: Margins, number: int, grams: Span) -> Fraction:
    lines = margins.lines(number)
    now = lines[0]
    inside = margins.tree.inside[number]
    opened = margins.is_opened(inside)
    slack = None if inside is None else margins.slack[inside]
    gap = None if inside is None or opened else margins.gap[inside]
    gained, gram = NOTHING, margins.tree.sized.gram
    for often, weight in zip(HOW_OFTEN, grams, strict=True):
        more = (weight - grams.likely) * gram
        best: Fraction = max(line.worth + line.each * more for line in lines) - now.worth
        if opened:
            best = best if slack is None else max(best, Fraction(-slack.by))
            gained += often * (best - now.each * more)
        elif gap is not None:
            gained += often * max(NOTHING, best - gap.by)
    return gained / margins.plan.nets.size
