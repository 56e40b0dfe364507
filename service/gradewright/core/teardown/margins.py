"""How far a plan is from another one: by how much a part may come to more or less until the plan changes.

A part that is reached passes what it loses on to those around it, until one of them is better done otherwise:
its slack. A part that is not reached has to gain so much that those around it are better opened: their gap.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import NamedTuple

from gradewright.core.teardown.tree import Plan, Tree


class Does(StrEnum):
    """What is done with a part."""

    SELL = "sell-whole"
    OPEN = "open"
    TAKE = "take-off"
    STAY = "leave-on"


class Then(NamedTuple):
    """What is done otherwise in another plan: with the node of this number."""

    node: int
    does: Does


class Edge(StrEnum):
    """How another plan comes to be as good: it catches up; or a price steps, there or just beyond."""

    EVEN = "even"
    FROM = "from"
    BEYOND = "beyond"


class Margin(NamedTuple):
    """How much it takes, and what is done otherwise then."""

    by: Fraction
    then: Then
    edge: Edge = Edge.EVEN


class Gap(NamedTuple):
    """The same in whole numbers: in the pieces of a minor unit that the plan's figures are in."""

    by: int
    then: Then


class Line(NamedTuple):
    """What a node counts for in the one around it if so much is done with it, and more with each piece of a
    gram, likewise.
    """

    worth: int
    each: int
    then: Then


@dataclass(frozen=True, slots=True)
class Margins:
    """By the number of a node that opens: `slack`, how much less may come out of it (None: any amount), where
    it is opened by the plan; `gap`, how much more has to come out of it until it is, where it is not.
    """

    tree: Tree
    plan: Plan
    slack: Sequence[Gap | None]
    gap: Sequence[Gap | None]

    def is_opened(self, node: int | None) -> bool:
        """Whether the plan opens it; None stands around the device, and is always open."""
        return node is None or (self.plan.reached[node] and self.plan.opened[node])

    def lines(self, number: int) -> list[Line]:
        """What can be done with a node, whatever is done now among it first."""
        return _lines(self.tree, self.plan, number)


def margins(tree: Tree, plan: Plan) -> Margins:
    """The slacks and gaps of every node, from the device inwards."""
    nets, count = plan.nets, len(tree.nodes)
    slack: list[Gap | None] = [None] * count
    gap: list[Gap | None] = [None] * count
    for number, apart in enumerate(nets.apart):
        if apart is None:
            continue
        inside, stays = tree.inside[number], nets.stays[number]
        more = apart - nets.whole[number]
        edge_by = 0 if stays is None else nets.best[number] + nets.off[number] - stays
        if plan.reached[number] and plan.opened[number]:
            found = [Gap(more, Then(number, Does.SELL))]
            if stays is not None:
                found.append(Gap(edge_by, Then(number, Does.STAY)))
            outer = None if inside is None else slack[inside]
            slack[number] = min(found if outer is None else [*found, outer])
            continue
        lacks = 0 if plan.opened[number] else -more
        if plan.reached[number]:
            gap[number] = Gap(lacks, Then(number, Does.OPEN))
            continue
        if not plan.taken[number]:
            lacks -= edge_by
        outer = None if inside is None else gap[inside]
        gap[number] = (
            Gap(lacks, Then(number, Does.TAKE)) if outer is None else Gap(lacks + outer.by, outer.then)
        )
    return Margins(tree, plan, slack, gap)


def otherwise(
    tree: Tree, now: Plan, numbers: Iterable[int], opened: Sequence[bool], taken: Sequence[bool]
) -> Then:
    """The first node, from the device inwards, that is dealt with otherwise than by the plan. `opened` and
    `taken`: of another plan, for the nodes of `numbers`, among them those around each.
    """
    reached: dict[int, bool] = {}
    for number, opens, comes_off in zip(numbers, opened, taken, strict=True):
        inside = tree.nodes[number].inside
        if inside is not None and not reached[inside]:
            reached[number] = False
            continue
        if comes_off != now.taken[number]:
            return Then(number, Does.TAKE if comes_off else Does.STAY)
        if comes_off and opens != now.opened[number]:
            return Then(number, Does.OPEN if opens else Does.SELL)
        reached[number] = comes_off and opens
    raise AssertionError("two plans of different worth are the same")


def _lines(tree: Tree, plan: Plan, number: int) -> list[Line]:
    figures, nets, inside = tree.sized, plan.nets, tree.inside[number]
    times = nets.times
    off, stays, carried, staying = nets.off[number], nets.stays[number], 0, 0
    around = None if inside is None else tree.nodes[inside].opening
    if around is not None and inside is not None:
        each_left = figures.each_left[inside] * times
        if around.left_grams is None:
            carried = -each_left
        else:
            staying = each_left
    now = plan.taken[number]  # whether it is taken off now
    sold = Line(
        nets.whole[number] + off,
        figures.each[number] * times + carried,
        Then(number, Does.SELL if now and plan.opened[number] else Does.TAKE),
    )
    found = [sold]
    apart, opening = nets.apart[number], tree.nodes[number].opening
    if apart is not None and opening is not None:
        slope = (figures.each_left[number] * times if opening.left_grams is None else 0) + carried
        opened = Line(apart + off, slope, Then(number, Does.OPEN if now else Does.TAKE))
        found.insert(0 if plan.opened[number] else 1, opened)
    if stays is not None:
        found.insert(len(found) if now else 0, Line(stays, staying, Then(number, Does.STAY)))
    return found
