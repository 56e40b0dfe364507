"""Parts that have not been weighed: how far a plan's worth ranges with them, what weighing would be worth.

A weight that is known from low to high is held to be low in a quarter of cases, likely in half of them, high
in a quarter: low and high are read as quartiles. (Common practice for three points, no source.) What knowing
it is worth is what the best plan at each of the three comes to more, on average, than the plan that is
followed without knowing; all other weights being likely. It is never below zero, and zero where the plan
would be the same anyway.
"""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction
from typing import NamedTuple

from gradewright.core.teardown.margins import Margins
from gradewright.core.teardown.tree import MINUTES_AN_HOUR, NOTHING, Pay, Plan, Span, Tree

HOW_OFTEN = Span(Fraction(1, 4), Fraction(1, 2), Fraction(1, 4))
LOW, LIKELY, HIGH = range(3)


class Ranges(NamedTuple):
    """What a plan comes to before the time is paid: over prices and weights, and over the weights alone.

    Each weight is taken for itself, so that no weights within what was said lead further.
    """

    both: Span
    weights: Span


def ranges(tree: Tree, plan: Plan) -> Ranges:
    """How far the worth of a plan ranges."""
    paid = plan.worth.paid
    by_weights = Span(_end(tree, plan, LIKELY, LOW), paid, _end(tree, plan, LIKELY, HIGH))
    return Ranges(Span(_end(tree, plan, LOW, LOW), paid, _end(tree, plan, HIGH, HIGH)), by_weights)


def _end(tree: Tree, plan: Plan, price: int, end: int) -> Fraction:
    """What the plan comes to at one column of the prices, with every weight at its worse or better end."""
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
            total += rate * left[end if rate > 0 else HIGH - end]
        for part in tree.parts[number]:
            if left is None and plan.taken[part]:
                each_gram[part] -= rate
            elif left is not None and not plan.taken[part]:
                each_gram[part] += rate
    for number, rate in each_gram.items():
        total += rate * tree.nodes[number].grams[end if rate > 0 else HIGH - end]
    return total


def weighing(margins: Margins) -> dict[int, Fraction]:
    """By number, for every node whose weight has a range, what knowing it beforehand would be worth."""
    nodes = margins.tree.nodes
    return {
        number: _knowing(margins, number, node.grams)
        for number, node in enumerate(nodes)
        if node.grams.low != node.grams.high
    }


def weighing_whole(tree: Tree, plan: Plan) -> Fraction:
    """What knowing the weight of the device would be worth, where everything in it is a share of that."""
    opening, apart, whole, grams = tree.nodes[0].opening, plan.apart[0], tree.whole[0], tree.nodes[0].grams
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
    inside = margins.tree.nodes[number].inside
    opened = margins.is_opened(inside)
    slack = None if inside is None else margins.slack[inside]
    gap = None if inside is None or opened else margins.gap[inside]
    gained = NOTHING
    for often, weight in zip(HOW_OFTEN, grams, strict=True):
        more = weight - grams.likely
        best = max(line.worth + line.each_gram * more for line in lines) - now.worth
        if opened:
            best = best if slack is None else max(best, -slack.by)
            gained += often * (best - now.each_gram * more)
        elif gap is not None:
            gained += often * max(NOTHING, best - gap.by)
    return gained
