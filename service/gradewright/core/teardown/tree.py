"""Whole or apart: which parts of a device to open, so that it comes to the most after the time is paid.

A tree of parts. Each is sold as it is, or opened: then what comes out is dealt with likewise, and what is
left over is paid or charged for. Opened all at once, everything comes out for one time; opened piece by
piece, each part is taken off for a time of its own or stays on what is left over, and is paid as that. What
nobody pays for as it is counts as nothing until it is opened; whoever asks is told which that is.

The rule, from the leaves up, is that of Meacham, Uzsoy and Venkatadri, "Optimal Disassembly Configurations
for Single and Multiple Products", Journal of Manufacturing Systems 18(5), 1999. Money is in minor units, time
in minutes, weight in grams, the hour's rate in minor units: exact fractions throughout, of all pieces
together. Everything is linear in the size of the tree, and none of it calls itself: trees may be deep.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import NamedTuple

NOTHING = Fraction(0)
MINUTES_AN_HOUR = 60


class Span(NamedTuple):
    """Low, likely and high of one figure."""

    low: Fraction
    likely: Fraction
    high: Fraction

    @classmethod
    def exactly(cls, figure: Fraction | int) -> Span:
        """One figure that is known."""
        return cls(*([Fraction(figure)] * 3))


NONE = Span.exactly(0)


@dataclass(frozen=True, slots=True)
class Pay:
    """What something comes to: so much for each gram, and so much whatever it weighs; below zero: a charge.

    `price` names the price that `each_gram` is made of, where it is one that can move.
    """

    each_gram: Span = NONE
    fixed: Span = NONE
    price: str | None = None

    def of(self, grams: Fraction) -> Fraction:
        """What so many grams come to, likely."""
        return self.fixed.likely + self.each_gram.likely * grams


@dataclass(frozen=True, slots=True)
class Opening:
    """How a part is opened: for how many minutes and at what cost, and what is paid for what is left over.

    `left`: None where nothing is known of it. `left_grams`: None where it is what the parts leave of the
    weight. `one_by_one`: the parts are taken off each for itself, besides `minutes`.
    """

    minutes: Fraction = NOTHING
    one_by_one: bool = False
    left: Pay | None = None
    left_grams: Span | None = None
    cost: Fraction = NOTHING

    @property
    def each_gram_left(self) -> Fraction:
        """What each gram that is left over is paid."""
        return NOTHING if self.left is None else self.left.each_gram.likely

    @property
    def fixed(self) -> Fraction:
        """What it comes to whatever anything weighs: a charge for the piece, and what is used up."""
        return (NOTHING if self.left is None else self.left.fixed.likely) - self.cost


@dataclass(frozen=True, slots=True)
class Node:
    """A part, by the number of the one that it is inside of. `whole`: what it is sold for as it is, if it is.

    Where the one around it is opened piece by piece, `minutes` is the time to take it off, and `must` says
    that it may not stay on.
    """

    inside: int | None = None
    grams: Span = NONE
    whole: Pay | None = None
    opening: Opening | None = None
    minutes: Fraction = NOTHING
    must: bool = False


class Edge(NamedTuple):
    """What a part counts for in the one around it, besides its own worth.

    `carries`: what taking it off takes from what is left over; `stays`: what it comes to where it stays on,
    None where it cannot. Both change by so much with each gram of it.
    """

    minutes: Fraction
    carries: Fraction
    carries_each_gram: Fraction
    stays: Fraction | None
    stays_each_gram: Fraction


@dataclass(frozen=True)
class Tree:
    """A device: its nodes, the device itself first, each behind the one that it is inside of."""

    nodes: tuple[Node, ...]

    @cached_property
    def parts(self) -> tuple[tuple[int, ...], ...]:
        """For each node the numbers of what is directly inside."""
        found: list[list[int]] = [[] for _ in self.nodes]
        for number, node in enumerate(self.nodes):
            if node.inside is not None:
                found[node.inside].append(number)
        return tuple(map(tuple, found))

    @cached_property
    def whole(self) -> tuple[Fraction, ...]:
        """What each node comes to as it is; nothing where nobody pays for it."""
        return tuple(NOTHING if n.whole is None else n.whole.of(n.grams.likely) for n in self.nodes)

    @cached_property
    def edges(self) -> tuple[Edge, ...]:
        """For each node how it counts in the one around it."""
        return tuple(map(self._edge, self.nodes))

    @cached_property
    def openings(self) -> tuple[Fraction | None, ...]:
        """What opening each node comes to, without what comes out of it and without the time."""
        return tuple(None if n.opening is None else _bare(n, n.opening) for n in self.nodes)

    def _edge(self, node: Node) -> Edge:
        around = None if node.inside is None else self.nodes[node.inside].opening
        if around is None:
            return Edge(NOTHING, NOTHING, NOTHING, None, NOTHING)
        rate, grams, rests = around.each_gram_left, node.grams.likely, around.left_grams is None
        carries = -rate if rests else NOTHING
        stays = NOTHING if rests else rate
        may_stay = around.one_by_one and not node.must
        minutes = node.minutes if around.one_by_one else NOTHING
        return Edge(minutes, carries * grams, carries, stays * grams if may_stay else None, stays)


def _bare(node: Node, opening: Opening) -> Fraction:
    left = node.grams if opening.left_grams is None else opening.left_grams
    return (NOTHING if opening.left is None else opening.left.of(left.likely)) - opening.cost


class Worth(NamedTuple):
    """What something comes to before the time is paid, and the minutes that it takes."""

    paid: Fraction = NOTHING
    minutes: Fraction = NOTHING

    def net(self, rate: Fraction) -> Fraction:
        """What is left of it at so much an hour."""
        return self.paid - self.minutes * rate / MINUTES_AN_HOUR if self.minutes else self.paid


@dataclass(frozen=True, slots=True)
class Plan:
    """The best that can be done with a tree at one rate an hour; less work where two come to the same.

    By the number of a node: `opened`, whether it is better opened than as it is, once it is in hand; `taken`,
    whether it comes off once the one around it is opened; `reached`, whether it comes into anybody's hand;
    `apart`, what it comes to opened (None where it does not open); `best`, at its best; all at this rate.
    """

    rate: Fraction
    opened: tuple[bool, ...]
    taken: tuple[bool, ...]
    reached: tuple[bool, ...]
    apart: tuple[Worth | None, ...]
    best: tuple[Worth, ...]

    @property
    def worth(self) -> Worth:
        """What the device comes to by the plan."""
        return self.best[0]


def plan(tree: Tree, rate: Fraction) -> Plan:
    """The best plan at so many minor units an hour (zero or more)."""
    count = len(tree.nodes)
    opened, taken = [False] * count, [True] * count
    apart: list[Worth | None] = [None] * count
    best = [Worth(whole) for whole in tree.whole]
    sums: list[list[Fraction]] = [
        [bare or NOTHING, NOTHING if node.opening is None else node.opening.minutes]
        for node, bare in zip(tree.nodes, tree.openings, strict=True)
    ]
    for number in range(count - 1, -1, -1):
        node = tree.nodes[number]
        if node.opening is not None:
            found = apart[number] = Worth(*sums[number])
            if found.net(rate) > best[number].net(rate):
                opened[number], best[number] = True, found
        if node.inside is not None:
            edge, around = tree.edges[number], sums[node.inside]
            off = Worth(best[number].paid + edge.carries, best[number].minutes + edge.minutes)
            if edge.stays is not None and off.net(rate) <= edge.stays:
                taken[number], off = False, Worth(edge.stays)
            around[0] += off.paid
            around[1] += off.minutes
    reached = _reached(tree, opened, taken)
    return Plan(rate, tuple(opened), tuple(taken), reached, tuple(apart), tuple(best))


def left_over(tree: Tree, found: Plan, number: int) -> Fraction:
    """The grams that are left over of a node by a plan, with what stays on it."""
    node, parts, nodes = tree.nodes[number], tree.parts[number], tree.nodes
    left = None if node.opening is None else node.opening.left_grams
    if left is not None:
        return sum((nodes[part].grams.likely for part in parts if not found.taken[part]), left.likely)
    return node.grams.likely - sum((nodes[part].grams.likely for part in parts if found.taken[part]), NOTHING)


def left_between(tree: Tree, found: Plan, number: int) -> Span:
    """The same from low to high: never less than nothing, and no less than what stays on it."""
    opening, grams = tree.nodes[number].opening, tree.nodes[number].grams
    off, still = (
        [tree.nodes[p].grams for p in tree.parts[number] if found.taken[p] is t] for t in (True, False)
    )
    stays = Span(*(sum((each[n] for each in still), NOTHING) for n in range(3)))
    if opening is not None and opening.left_grams is not None:
        return Span(*(left + on for left, on in zip(opening.left_grams, stays, strict=True)))
    lightest, _, heaviest = (sum((each[n] for each in off), NOTHING) for n in range(3))
    likely = left_over(tree, found, number)
    low = max(grams.low - heaviest, stays.low)
    return Span(min(low, likely), likely, max(grams.high - lightest, likely))


def _reached(tree: Tree, opened: Sequence[bool], taken: Sequence[bool]) -> tuple[bool, ...]:
    reached: list[bool] = []
    for number, node in enumerate(tree.nodes):
        inside = node.inside
        reached.append(inside is None or (reached[inside] and opened[inside] and taken[number]))
    return tuple(reached)
