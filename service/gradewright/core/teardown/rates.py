"""Whole or apart at every rate an hour at once.

What a part comes to falls with the rate, along straight lines whose upper envelope is its worth: the more
work a plan takes, the steeper its line. An envelope is kept as its last line and the kinks before it, so that
envelopes are added by putting their kinks together; and since a part sold as it is comes to the same at any
rate, choosing between that and opening cuts the envelope off at one rate, the one up to which opening pays.
Every kink is made once and cut off at most once.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from heapq import heappop, heappush
from typing import NamedTuple

from gradewright.core.teardown.sized import MINUTES_AN_HOUR
from gradewright.core.teardown.tree import NOTHING, Tree, plan

UpTo = Fraction | None
"""Up to which rate an hour something pays: it does at those below; None: at any, zero: at none."""


def pays(up_to: UpTo, rate: Fraction) -> bool:
    """Whether what pays up to one rate pays at another."""
    return up_to is None or rate < up_to


Key = int | None
"""A rate as a whole number, greater as the rate is: see `_Keys`; None: any, zero: none."""


class _Keys:
    """Rates as whole numbers. A rate is what a line gains by the minutes that it takes more: so far apart are
    any two of these that a division without its rest tells them apart, and puts them in order.
    """

    def __init__(self, tree: Tree) -> None:
        sized = tree.sized
        self._shift = 2 * (sum(sized.opening) + sum(sized.minutes)).bit_length()
        self._times, self._under = MINUTES_AN_HOUR * sized.minute, sized.money
        self._known: dict[int, tuple[int, int]] = {}

    def of(self, gain: int, minutes: int) -> int:
        """The key of a rate: so much is gained for so many minutes."""
        key = (gain << self._shift) // minutes
        if key > 0:
            self._known[key] = gain, minutes
        return key

    def line(self, key: int) -> tuple[int, int]:
        """A gain and the minutes for it that come to this rate."""
        return self._known[key]

    def rate(self, key: Key) -> UpTo:
        """The rate an hour."""
        if not key:
            return key if key is None else NOTHING
        gain, minutes = self._known[key]
        return Fraction(gain * self._times, minutes * self._under)


def _lesser(one: Key, other: Key) -> Key:
    if one is None or other is None:
        return other if one is None else one
    return min(one, other)


class _Falling:
    """An envelope: the worth and the minutes of its last line, and its kinks, that of the highest rate first:
    less its key, what a line gains that takes over there going down, and the minutes that it has more.
    """

    __slots__ = ("kinks", "minutes", "worth")

    def __init__(self, worth: int, minutes: int = 0) -> None:
        self.worth, self.minutes = worth, minutes
        self.kinks: list[tuple[int, int, int]] = []

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

    def at_least(self, floor: int, keys: _Keys) -> Key:
        """Become the higher of this and what is the same at any rate: up to where this is the higher one."""
        kinks = self.kinks
        while True:
            last = -kinks[0][0] if kinks else 0
            if self.minutes:
                crossing = keys.of(self.worth - floor, self.minutes)
                if crossing >= last or not kinks:
                    break
            elif self.worth > floor:
                return None
            elif self.worth == floor:
                return last
            elif not kinks:
                crossing = 0
                break
            _, gain, more = heappop(kinks)
            self.worth += gain
            self.minutes += more
        if crossing > 0:
            heappush(kinks, (-crossing, self.worth - floor, self.minutes))
        self.worth, self.minutes = floor, 0
        return max(crossing, 0)


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

    opening: Sequence[UpTo]
    taking: Sequence[UpTo]
    steps: Sequence[Step]


def rates(tree: Tree) -> Rates:
    """The best plans at all rates."""
    sized, count, keys = tree.sized, len(tree.nodes), _Keys(tree)
    opening: list[Key] = [0] * count
    taking: list[Key] = [None] * count
    made = [
        None if bare is None else _Falling(bare, minutes)
        for bare, minutes in zip(sized.bare, sized.opening, strict=True)
    ]
    for number in range(count - 1, -1, -1):
        inside, found = tree.inside[number], made[number]
        made[number] = None
        if found is None:
            found = _Falling(sized.whole[number])
        else:
            opening[number] = found.at_least(sized.whole[number], keys)
        around = None if inside is None else made[inside]
        if around is not None:
            found.worth += sized.carries[number]
            found.minutes += sized.minutes[number]
            stays = sized.stays[number]
            if stays is not None:
                taking[number] = found.at_least(stays, keys)
            around.add(found)
    steps = _steps(tree, opening, taking, keys)
    return Rates([keys.rate(key) for key in opening], [keys.rate(key) for key in taking], steps)


def _steps(tree: Tree, opening: Sequence[Key], taking: Sequence[Key], keys: _Keys) -> list[Step]:
    """The schedule: what stops at the same rate is one step."""
    sized = tree.sized
    opened: list[Key] = []  # up to which rate a node is in hand and opened
    stops: dict[int, list[list[int]]] = defaultdict(lambda: [[], []])
    saved: dict[int, int] = defaultdict(int)
    for number, inside in enumerate(tree.inside):
        around = None if inside is None else opened[inside]
        in_hand = _lesser(around, taking[number])
        until = _lesser(in_hand, opening[number])
        opened.append(until)
        if until:  # what is never done cannot stop, nor what always is
            saved[until] += sized.opening[number]
            if opening[number] == until and in_hand != until:
                stops[until][0].append(number)
        if in_hand and inside is not None:
            saved[in_hand] += sized.minutes[number]
            if taking[number] == in_hand and around != in_hand:
                stops[in_hand][1].append(number)
    found = plan(tree, NOTHING)
    paid, minutes = found.nets.best[0] // found.nets.times, found.nets.best_minutes[0]

    def step(rate: Fraction, stopping: Sequence[Sequence[int]]) -> Step:
        return Step(rate, Fraction(paid, sized.money), Fraction(minutes, sized.minute), *map(tuple, stopping))

    steps = [step(NOTHING, ((), ()))]
    for key in sorted(saved):
        gain, took = keys.line(key)
        paid -= saved[key] * gain // took  # lines come to whole pieces, and so does what is between two
        minutes -= saved[key]
        steps.append(step(keys.rate(key) or NOTHING, stops[key]))
    return steps
