"""Whole or apart at every rate an hour at once.

What a part comes to falls with the rate, along straight lines whose upper envelope is its worth: the more
work a plan takes, the steeper its line. An envelope is kept as its last line and the kinks before it, so that
envelopes are added by putting their kinks together; and since a part sold as it is comes to the same at any
rate, choosing between that and opening cuts the envelope off at one rate, the one up to which opening pays.
Every kink is made once and cut off at most once.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from fractions import Fraction
from heapq import heappop, heappush
from typing import NamedTuple

from gradewright.core.teardown.tree import MINUTES_AN_HOUR, NOTHING, Tree, plan

UpTo = Fraction | None
"""Up to which rate an hour something pays: it does at those below; None: at any, zero: at none."""


def pays(up_to: UpTo, rate: Fraction) -> bool:
    """Whether what pays up to one rate pays at another."""
    return up_to is None or rate < up_to


def _lesser(one: UpTo, other: UpTo) -> UpTo:
    if one is None or other is None:
        return other if one is None else one
    return min(one, other)


class _Falling:
    """An envelope: the worth and the minutes of its last line, and its kinks, that of the highest rate first.

    At a kink, going down, a line takes over that has so many minutes more.
    """

    __slots__ = ("kinks", "minutes", "worth")

    def __init__(self, worth: Fraction, minutes: Fraction = NOTHING) -> None:
        self.worth, self.minutes = worth, minutes
        self.kinks: list[tuple[Fraction, Fraction]] = []

    def add(self, other: _Falling) -> None:
        """Become the sum of both; the fewer kinks are put among the many."""
        self.worth += other.worth
        self.minutes += other.minutes
        kinks, fewer = self.kinks, other.kinks
        if len(kinks) < len(fewer):
            kinks, fewer = fewer, kinks
        for kink in fewer:
            heappush(kinks, kink)
        self.kinks = kinks

    def at_least(self, floor: Fraction) -> UpTo:
        """Become the higher of this and what is the same at any rate: up to where this is the higher one."""
        kinks = self.kinks
        while True:
            last = -kinks[0][0] if kinks else NOTHING
            if self.minutes:
                crossing = (self.worth - floor) * MINUTES_AN_HOUR / self.minutes
                if crossing >= last or not kinks:
                    break
            elif self.worth > floor:
                return None
            elif self.worth == floor:
                return last
            elif not kinks:
                crossing = NOTHING
                break
            _, more = heappop(kinks)
            self.worth += more * last / MINUTES_AN_HOUR
            self.minutes += more
        if crossing > 0:
            heappush(kinks, (-crossing, self.minutes))
        self.worth, self.minutes = floor, NOTHING
        return max(crossing, NOTHING)


class Step(NamedTuple):
    """From a rate an hour on, up to that of the next: what the best plan comes to before the time is paid,
    its minutes, and what is no longer done from there on, by number: nodes opened, and taken off.
    """

    rate: Fraction
    paid: Fraction
    minutes: Fraction
    stops_opening: tuple[int, ...] = ()
    stops_taking: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Rates:
    """By number of a node: up to which rate opening it pays once it is in hand, and taking it off once the
    one around it is opened; and the whole schedule of plans, from no rate at all upwards.
    """

    opening: tuple[UpTo, ...]
    taking: tuple[UpTo, ...]
    steps: tuple[Step, ...]


def rates(tree: Tree) -> Rates:
    """The best plans at all rates."""
    count = len(tree.nodes)
    opening: list[UpTo] = [NOTHING] * count
    taking: list[UpTo] = [None] * count
    made = [
        None if bare is None or node.opening is None else _Falling(bare, node.opening.minutes)
        for node, bare in zip(tree.nodes, tree.openings, strict=True)
    ]
    for number in range(count - 1, -1, -1):
        inside, found = tree.nodes[number].inside, made[number]
        made[number] = None
        if found is None:
            found = _Falling(tree.whole[number])
        else:
            opening[number] = found.at_least(tree.whole[number])
        around = None if inside is None else made[inside]
        if around is not None:
            edge = tree.edges[number]
            found.worth += edge.carries
            found.minutes += edge.minutes
            if edge.stays is not None:
                taking[number] = found.at_least(edge.stays)
            around.add(found)
    return Rates(tuple(opening), tuple(taking), _steps(tree, opening, taking))


def _steps(tree: Tree, opening: list[UpTo], taking: list[UpTo]) -> tuple[Step, ...]:
    """The schedule: what stops at the same rate is one step."""
    opened: list[UpTo] = []  # up to which rate a node is in hand and opened
    stops: dict[Fraction, list[list[int]]] = defaultdict(lambda: [[], []])
    saved: dict[Fraction, Fraction] = defaultdict(Fraction)
    for number, node in enumerate(tree.nodes):
        around = None if node.inside is None else opened[node.inside]
        in_hand = _lesser(around, taking[number])
        opened.append(_lesser(in_hand, opening[number]))
        done = [(opened[number], opening[number], in_hand, 0)]
        if node.inside is not None:
            done.append((in_hand, taking[number], around, 1))
        for until, own, outer, kind in done:
            if until:  # what is never done cannot stop, nor what always is
                minutes = tree.edges[number].minutes
                if kind == 0:
                    minutes = NOTHING if node.opening is None else node.opening.minutes
                saved[until] += minutes
                if own == until and outer != until:
                    stops[until][kind].append(number)
    paid, minutes = plan(tree, NOTHING).worth
    found = [Step(NOTHING, paid, minutes)]
    for rate in sorted(saved):
        paid -= saved[rate] * rate / MINUTES_AN_HOUR
        minutes -= saved[rate]
        found.append(Step(rate, paid, minutes, *map(tuple, stops[rate])))
    return tuple(found)
