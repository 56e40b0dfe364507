"""Which single weight, moved by how much, would change a plan.

A weight changes what its part comes to, opened and whole, and what is left over around it, by so much a gram:
the nearest weight at which another plan is as good follows from the margins at once.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import NamedTuple

from gradewright.core.teardown.margins import Does, Margin, Margins, Then
from gradewright.core.teardown.sized import MINUTES_AN_HOUR
from gradewright.core.teardown.tree import Plan, Tree


class Moves(NamedTuple):
    """The nearest moves that change a plan: by so much less, and by so much more; None where none does."""

    less: Margin | None = None
    more: Margin | None = None


def weight_moves(margins: Margins) -> list[Moves]:
    """For each node the grams by which its weight may move; within what its parts and what is around it
    allow, all other weights being what they are.
    """
    tree = margins.tree
    grams, gram, inner = tree.sized.grams, tree.sized.gram, [0] * len(tree.nodes)
    for number, inside in enumerate(tree.inside):
        if inside is not None:
            inner[inside] += grams[number]
    found = []
    for number, inside in enumerate(tree.inside):
        most = None if inside is None else grams[inside] - inner[inside]
        least = inner[number] - grams[number]
        less, more = Moves()
        for slope, by, then in _crossings(margins, number):
            size = abs(slope)  # so many of the pieces of a gram are by
            if by < least * size or (most is not None and by > most * size):
                continue
            margin = Margin(Fraction(by, size * gram), then)
            if slope < 0:
                less = margin if less is None else max(less, margin)
            else:
                more = margin if more is None else min(more, margin)
        found.append(Moves(less, more))
    return found


def whole_moves(tree: Tree, plan: Plan) -> Moves:
    """The grams by which the device may move where everything in it is a share of its weight, and moves
    with it: what it pays, whole or apart, grows with the weight then, but for what opening it comes to
    whatever it weighs, and the time does not.
    """
    opening, apart, whole, grams = tree.nodes[0].opening, plan.apart(0), tree.whole(0), tree.nodes[0].grams
    if opening is None or apart is None:
        return Moves()
    more = apart.paid - opening.fixed - whole
    has_to = apart.minutes * plan.rate / MINUTES_AN_HOUR - opening.fixed
    if not more or has_to / more <= 0:
        return Moves()
    by = grams.likely * (has_to / more - 1)
    margin = Margin(by, Then(0, Does.SELL if plan.opened[0] else Does.OPEN))
    # Opened, it is better off heavier, unless something is paid for opening it whatever it weighs.
    lighter = plan.opened[0] == (more > 0)
    return Moves(less=margin) if lighter else Moves(more=margin)


def _crossings(margins: Margins, number: int) -> Iterator[tuple[int, int, Then]]:
    """Where another plan is as good, nearest or not: how much better that gets from there with each piece of
    a gram more (with each less where it is below zero), and how many pieces more that is, times as many as
    it gets better by.
    """
    now, *others = margins.lines(number)
    inside = margins.tree.inside[number]
    if margins.is_opened(inside):
        for other in others:
            slope = other.each - now.each
            if slope:
                more = now.worth - other.worth
                yield slope, more if slope > 0 else -more, other.then
        slack = None if inside is None else margins.slack[inside]
        if slack is not None and now.each:
            yield -now.each, -slack.by if now.each > 0 else slack.by, slack.then
        return
    gap = None if inside is None else margins.gap[inside]
    if gap is not None:
        for line in (now, *others):
            if line.each:
                more = now.worth + gap.by - line.worth
                yield line.each, more if line.each > 0 else -more, gap.then
