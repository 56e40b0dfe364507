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

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import lcm
from typing import NamedTuple

from gradewright.core.teardown.sized import MINUTES_AN_HOUR, Sized, sized, whole

NOTHING = Fraction(0)


class Span(NamedTuple):
    """Low, likely and high of one figure."""

    low: Fraction
    likely: Fraction
    high: Fraction

    @classmethod
    def exactly(cls, figure: Fraction | int) -> Span:
        """One figure that is known."""
        exact = figure if isinstance(figure, Fraction) else Fraction(figure)
        return cls(exact, exact, exact)

    @property
    def known(self) -> bool:
        """Whether it is one figure."""
        return self.low is self.high or self.low == self.high


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


class Tier(NamedTuple):
    """What is paid, by the gram alone, in lots of so many grams or more, up to the next tier; None: nobody
    pays for it.
    """

    from_grams: Fraction
    pay: Pay | None


Tiers = tuple[Tier, ...]
"""From the least lot on, which is one of nothing; none where any lot is paid alike."""


def in_a_lot(tiers: Tiers, pay: Pay | None, grams: Fraction) -> Pay | None:
    """What is paid in a lot of so much: `pay` where any lot is paid alike."""
    return next((tier.pay for tier in reversed(tiers) if tier.from_grams <= grams), pay)


@dataclass(frozen=True, slots=True)
class Opening:
    """How a part is opened: for how many minutes and at what cost, and what is paid for what is left over.

    `left`: None where nothing is known of it. `left_grams`: None where it is what the parts leave of the
    weight. `one_by_one`: the parts are taken off each for itself, besides `minutes`. `tiers`: what would be
    paid for what is left over where it is heavier or lighter, once all parts are off.
    """

    minutes: Fraction = NOTHING
    one_by_one: bool = False
    left: Pay | None = None
    left_grams: Span | None = None
    cost: Fraction = NOTHING
    tiers: Tiers = ()

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
    that it may not stay on. `tiers`: what it would be sold for where it is heavier or lighter.
    """

    inside: int | None = None
    grams: Span = NONE
    whole: Pay | None = None
    opening: Opening | None = None
    minutes: Fraction = NOTHING
    must: bool = False
    tiers: Tiers = ()


@dataclass(frozen=True)
class Tree:
    """A device: its nodes, the device itself first, each behind the one that it is inside of."""

    nodes: tuple[Node, ...]

    @cached_property
    def inside(self) -> tuple[int | None, ...]:
        """For each node the number of the one that it is inside of."""
        return tuple(node.inside for node in self.nodes)

    @cached_property
    def parts(self) -> tuple[tuple[int, ...], ...]:
        """For each node the numbers of what is directly inside."""
        found: list[list[int]] = [[] for _ in self.nodes]
        for number, node in enumerate(self.nodes):
            if node.inside is not None:
                found[node.inside].append(number)
        return tuple(map(tuple, found))

    @cached_property
    def sized(self) -> Sized:
        """What the nodes come to, as whole numbers."""
        return sized(self.nodes)

    def paid(self, changed: Mapping[int, Node]) -> Tree:
        """The same device where these nodes are paid otherwise, as they are or for what is left over."""
        nodes = list(self.nodes)
        for number, node in changed.items():
            nodes[number] = node
        other = Tree(tuple(nodes))
        # What is kept with a tree beside its nodes: the same device has the same parts in the same places.
        other.__dict__["inside"], other.__dict__["parts"] = self.inside, self.parts
        other.__dict__["sized"] = self.sized.changed(nodes, self.parts, changed)
        return other

    def whole(self, number: int) -> Fraction:
        """What a node comes to as it is; nothing where nobody pays for it."""
        return Fraction(self.sized.whole[number], self.sized.money)


class Worth(NamedTuple):
    """What something comes to before the time is paid, and the minutes that it takes."""

    paid: Fraction = NOTHING
    minutes: Fraction = NOTHING

    def net(self, rate: Fraction) -> Fraction:
        """What is left of it at so much an hour."""
        return self.paid - self.minutes * rate / MINUTES_AN_HOUR if self.minutes else self.paid


class Nets(NamedTuple):
    """What the nodes come to less the time that it takes at one rate, as whole numbers: `size` pieces are a
    minor unit, and a piece of a minute costs `cost` of them. `times`: so many are one of the tree's own.

    By number: `whole` as it is, `apart` opened, for `apart_minutes`, `best` at its best, for `best_minutes`;
    in the one around it `off`, what taking it off comes to besides, and `stays`, where it stays on.
    """

    size: int
    cost: int
    times: int
    whole: Sequence[int]
    apart: Sequence[int | None]
    apart_minutes: Sequence[int]
    best: Sequence[int]
    best_minutes: Sequence[int]
    off: Sequence[int]
    stays: Sequence[int | None]


@dataclass(frozen=True, slots=True)
class Plan:
    """The best that can be done with a tree at one rate an hour; less work where two come to the same.

    By the number of a node: `opened`, whether it is better opened than as it is, once it is in hand; `taken`,
    whether it comes off once the one around it is opened; `reached`, whether it comes into anybody's hand;
    `nets`, what all of that comes to at this rate.
    """

    rate: Fraction
    opened: Sequence[bool]
    taken: Sequence[bool]
    reached: Sequence[bool]
    nets: Nets
    minute: int

    @property
    def worth(self) -> Worth:
        """What the device comes to by the plan."""
        return self.best(0)

    @property
    def net(self) -> Fraction:
        """What is left of that after the time is paid."""
        return Fraction(self.nets.best[0], self.nets.size)

    def apart(self, number: int) -> Worth | None:
        """What a node comes to opened; None where it does not open."""
        net = self.nets.apart[number]
        return None if net is None else self._worth(net, self.nets.apart_minutes[number])

    def best(self, number: int) -> Worth:
        """What a node comes to at its best."""
        return self._worth(self.nets.best[number], self.nets.best_minutes[number])

    def _worth(self, net: int, minutes: int) -> Worth:
        return Worth(Fraction(net + minutes * self.nets.cost, self.nets.size), Fraction(minutes, self.minute))


def plan(tree: Tree, rate: Fraction) -> Plan:
    """The best plan at so many minor units an hour (zero or more)."""
    figures, nets = tree.sized, _nets(tree.sized, rate)
    count = len(tree.nodes)
    opened, taken = [False] * count, [True] * count
    apart, apart_minutes, off, stays = list(nets.apart), list(figures.opening), nets.off, nets.stays
    best, best_minutes = list(nets.whole), [0] * count
    inside, minutes_off = tree.inside, figures.minutes
    for number in range(count - 1, -1, -1):
        found = apart[number]
        if found is not None and found > best[number]:
            opened[number] = True
            best[number], best_minutes[number] = found, apart_minutes[number]
        around = inside[number]
        if around is None:
            continue
        outer = apart[around]
        if outer is None:
            continue
        stay, net = stays[number], best[number] + off[number]
        if stay is not None and net <= stay:
            taken[number] = False
            apart[around] = outer + stay
        else:
            apart[around] = outer + net
            apart_minutes[around] += best_minutes[number] + minutes_off[number]
    reached = _reached(tree, opened, taken)
    worth = nets._replace(apart=apart, apart_minutes=apart_minutes, best=best, best_minutes=best_minutes)
    return Plan(rate, opened, taken, reached, worth, figures.minute)


def _nets(figures: Sized, rate: Fraction) -> Nets:
    """What the nodes come to before anything is decided."""
    hour = MINUTES_AN_HOUR * figures.minute
    size = lcm(figures.money, hour * rate.denominator)
    times, cost = size // figures.money, rate.numerator * (size // (hour * rate.denominator))
    whole, bare, carries, stays = figures.whole, figures.bare, figures.carries, figures.stays
    if times != 1:
        whole, carries = [one * times for one in whole], [one * times for one in carries]
        bare, stays = [[None if o is None else o * times for o in column] for column in (bare, stays)]
    apart = [
        None if one is None else one - minutes * cost
        for one, minutes in zip(bare, figures.opening, strict=True)
    ]
    off = [
        carried - minutes * cost if minutes else carried
        for carried, minutes in zip(carries, figures.minutes, strict=True)
    ]
    return Nets(size, cost, times, whole, apart, (), (), (), off, stays)


def left_over(tree: Tree, taken: Sequence[bool]) -> list[int]:
    """By number the grams that are left over of each node where these parts are taken off, with what stays on
    it, in the pieces of a gram that the tree's figures are in.
    """
    grams, gram, nodes = tree.sized.grams, tree.sized.gram, tree.nodes
    left = list(grams)
    weighed = [False] * len(left)
    for number, node in enumerate(nodes):
        opening, around = node.opening, node.inside
        if opening is not None and opening.left_grams is not None:
            likely = opening.left_grams.likely
            weighed[number], left[number] = True, whole(likely, gram)
        if around is None:
            continue
        if weighed[around]:
            if not taken[number]:
                left[around] += grams[number]
        elif taken[number]:
            left[around] -= grams[number]
    return left


def left_between(tree: Tree, found: Plan, number: int, likely: Fraction) -> Span:
    """What is left over of a node, likely so much, from low to high: never less than nothing, and no less
    than what stays on it.
    """
    opening, grams, parts = tree.nodes[number].opening, tree.nodes[number].grams, tree.parts[number]
    weighed = None if opening is None else opening.left_grams
    if grams.known and all(tree.nodes[p].grams.known for p in parts) and (weighed is None or weighed.known):
        return Span.exactly(likely)
    off, still = ([tree.nodes[p].grams for p in parts if found.taken[p] is t] for t in (True, False))
    stays = Span(*(sum((each[n] for each in still), NOTHING) for n in range(3)))
    if weighed is not None:
        return Span(*(left + on for left, on in zip(weighed, stays, strict=True)))
    lightest, _, heaviest = (sum((each[n] for each in off), NOTHING) for n in range(3))
    low = max(grams.low - heaviest, stays.low)
    return Span(min(low, likely), likely, max(grams.high - lightest, likely))


def _reached(tree: Tree, opened: Sequence[bool], taken: Sequence[bool]) -> list[bool]:
    reached = [True] * len(opened)
    for number, inside in enumerate(tree.inside):
        if inside is not None:
            reached[number] = reached[inside] and opened[inside] and taken[number]
    return reached
