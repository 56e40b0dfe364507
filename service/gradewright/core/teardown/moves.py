"""Which single weight, moved by how much, would change a plan.

A weight changes what its part comes to, opened and whole, and what is left over around it, by so much a gram:
the nearest weight at which another plan is as good follows from the margins at once. Where a price steps on
the way there, it is looked for from step to step: at a step another plan may be better all at once.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import NamedTuple

from gradewright.core.teardown.margins import Edge, Margin, Margins, Then
from gradewright.core.teardown.stepping import JUST_ABOVE, JUST_BELOW, THERE, Stepping, Ways


class Moves(NamedTuple):
    """The nearest moves that change a plan: by so much less, and by so much more; None where none does."""

    less: Margin | None = None
    more: Margin | None = None


def weight_moves(margins: Margins) -> list[Moves]:
    """For each node the grams by which its weight may move; within what its parts and what is around it
    allow, all other weights being what they are.
    """
    tree, stepping = margins.tree, Stepping(margins)
    grams, gram, inner, found = tree.sized.grams, tree.sized.gram, stepping.inner, []
    for number, inside in enumerate(tree.inside):
        most = None if inside is None else grams[inside] - inner[inside]
        least = inner[number] - grams[number]
        steps = [by for by in stepping.breaks(number) if least <= by and (most is None or by <= most)]
        if steps:
            down, up = [by for by in reversed(steps) if by < 0], [by for by in steps if by > 0]
            found.append(
                Moves(
                    _stepwise(stepping, number, down, least, JUST_BELOW),
                    _stepwise(stepping, number, up, most, JUST_ABOVE),
                )
            )
            continue
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


def _stepwise(
    stepping: Stepping, number: int, steps: Sequence[int], end: int | None, side: int
) -> Margin | None:
    """The nearest move on one side of the weight that a node has, up to the last that it may have, `end`: at
    a step, just beyond it or on the stretch to the next one.
    """
    gram = stepping.gram
    for passed, (start, stop) in enumerate(zip([0, *steps], [*steps, end], strict=True)):
        # Where a price steps at the last weight of all, there is nothing beyond that.
        beyond = stepping.ways(number, start, side if start != stop else THERE)
        if (better := beyond.better(start, side)) is not None:
            return Margin(Fraction(start, gram), better.then, Edge.BEYOND)
        if (even := _even(beyond, start, stop, side, closed=passed == len(steps))) is not None:
            return Margin(even.by / gram, even.then)
        if stop is not None and (better := stepping.ways(number, stop).better(stop)) is not None:
            return Margin(Fraction(stop, gram), better.then, Edge.FROM)
    return None


def _even(ways: Ways, start: int, stop: int | None, side: int, *, closed: bool) -> Margin | None:
    """Where on a stretch the first of the others catches up with the plan; `closed`: also at its end."""
    now, found = ways.planned, None
    for other in ways.others:
        gains = (other.each - now.each) * side
        if gains <= 0:
            continue
        by = Fraction(now.worth - other.worth, other.each - now.each)
        further = abs(by - start)
        stretch = None if stop is None else abs(stop - start)
        beyond = stretch is not None and (further > stretch if closed else further >= stretch)
        if beyond:
            continue
        key = further, -gains, other.then
        if found is None or key < found[0]:
            found = key, Margin(by, other.then)
    return None if found is None else found[1]


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
