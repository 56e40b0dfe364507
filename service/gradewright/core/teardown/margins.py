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

from gradewright.core.teardown.tree import MINUTES_AN_HOUR, NOTHING, Plan, Tree


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


class Margin(NamedTuple):
    """How much it takes, and what is done otherwise then."""

    by: Fraction
    then: Then


class Line(NamedTuple):
    """What a node counts for in the one around it if so much is done with it, and more with each gram."""

    worth: Fraction
    each_gram: Fraction
    then: Then


@dataclass(frozen=True, slots=True)
class Margins:
    """By the number of a node that opens: `slack`, how much less may come out of it (None: any amount), where
    it is opened by the plan; `gap`, how much more has to come out of it until it is, where it is not.
    """

    tree: Tree
    plan: Plan
    slack: tuple[Margin | None, ...]
    gap: tuple[Margin | None, ...]

    def is_opened(self, node: int | None) -> bool:
        """Whether the plan opens it; None stands around the device, and is always open."""
        return node is None or (self.plan.reached[node] and self.plan.opened[node])

    def lines(self, number: int) -> list[Line]:
        """What can be done with a node, whatever is done now among it first."""
        return _lines(self.tree, self.plan, number)


def margins(tree: Tree, plan: Plan) -> Margins:
    """The slacks and gaps of every node, from the device inwards."""
    slack: list[Margin | None] = []
    gap: list[Margin | None] = []
    for number, (node, apart, whole) in enumerate(zip(tree.nodes, plan.apart, tree.whole, strict=True)):
        inside = node.inside
        slack.append(None)
        gap.append(None)
        if apart is None:
            continue
        more = apart.net(plan.rate) - whole
        edge_by = NOTHING
        edge = tree.edges[number]
        if edge.stays is not None:
            off = plan.best[number].net(plan.rate) + edge.carries - edge.minutes * plan.rate / MINUTES_AN_HOUR
            edge_by = off - edge.stays
        if plan.reached[number] and plan.opened[number]:
            found = [Margin(more, Then(number, Does.SELL))]
            if edge.stays is not None:
                found.append(Margin(edge_by, Then(number, Does.STAY)))
            outer = None if inside is None else slack[inside]
            slack[number] = min(found if outer is None else [*found, outer])
            continue
        lacks = NOTHING if plan.opened[number] else -more
        if plan.reached[number]:
            gap[number] = Margin(lacks, Then(number, Does.OPEN))
            continue
        if not plan.taken[number]:
            lacks -= edge_by
        outer = None if inside is None else gap[inside]
        gap[number] = (
            Margin(lacks, Then(number, Does.TAKE)) if outer is None else Margin(lacks + outer.by, outer.then)
        )
    return Margins(tree, plan, tuple(slack), tuple(gap))


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
    node, edge, rate = tree.nodes[number], tree.edges[number], plan.rate
    off = edge.carries - edge.minutes * rate / MINUTES_AN_HOUR
    each = NOTHING if node.whole is None else node.whole.each_gram.likely
    now = plan.taken[number]  # whether it is taken off now
    sold = Line(
        tree.whole[number] + off,
        each + edge.carries_each_gram,
        Then(number, Does.SELL if now and plan.opened[number] else Does.TAKE),
    )
    found = [sold]
    apart = plan.apart[number]
    if apart is not None and node.opening is not None:
        rests = node.opening.left_grams is None
        slope = (node.opening.each_gram_left if rests else NOTHING) + edge.carries_each_gram
        opened = Line(apart.net(rate) + off, slope, Then(number, Does.OPEN if now else Does.TAKE))
        found.insert(0 if plan.opened[number] else 1, opened)
    if edge.stays is not None:
        stays = Line(edge.stays, edge.stays_each_gram, Then(number, Does.STAY))
        found.insert(len(found) if now else 0, stays)
    return found
