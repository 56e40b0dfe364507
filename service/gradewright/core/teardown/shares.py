"""A device in which everything is a share of its weight, and comes out at once: what that weight does.

What it pays, whole or apart, grows with its weight then, but for what opening it comes to whatever it weighs;
the time does not. Where prices step, it grows otherwise from each step on.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from gradewright.core.teardown.margins import Does, Edge, Margin, Then
from gradewright.core.teardown.moves import Moves
from gradewright.core.teardown.sized import MINUTES_AN_HOUR
from gradewright.core.teardown.tree import NOTHING, Opening, Pay, Plan, Tiers, Tree, Worth
from gradewright.core.teardown.weights import HOW_OFTEN

BELOW, THERE, ABOVE = -1, 0, 1
OUT = 1


class _Place(NamedTuple):
    """Something that is sold: its grams, what it is paid, also in other lots, and whether it comes `OUT`."""

    grams: Fraction
    pay: Pay | None
    tiers: Tiers
    out: int

    def each_time(self, times: Fraction, side: int) -> Fraction:
        """What it comes to for each time of the device that it is a share of, so many times as heavy."""
        pay, grams = self.pay, self.grams * times
        for start, other in self.tiers:
            if start < grams or (start == grams and side != BELOW):
                pay = other
        return NOTHING if pay is None else pay.each_gram.likely * self.grams


class _Shares:
    """What a device comes to opened more than whole: by how many times as heavy it is, and `anyhow`. What is
    left over is what its parts leave.
    """

    def __init__(self, tree: Tree, opening: Opening, apart: Worth, rate: Fraction) -> None:
        root, parts = tree.nodes[0], tree.nodes[1:]
        self.anyhow = opening.fixed - apart.minutes * rate / MINUTES_AN_HOUR
        left = root.grams.likely - sum((part.grams.likely for part in parts), NOTHING)
        self.places = [
            *(_Place(part.grams.likely, part.whole, part.tiers, OUT) for part in parts),
            _Place(left, opening.left, opening.tiers, OUT),
            _Place(root.grams.likely, root.whole, root.tiers, -OUT),
        ]

    def more(self, times: Fraction, side: int = THERE) -> Fraction:
        """What it comes to more, so many times as heavy, or at the prices just below or above that."""
        each = sum((place.out * place.each_time(times, side) for place in self.places), NOTHING)
        return each * times + self.anyhow

    def breaks(self) -> list[Fraction]:
        """How many times as heavy it is where prices step, in order."""
        return sorted(
            {
                tier.from_grams / place.grams
                for place in self.places
                for tier in place.tiers[1:]
                if place.grams > 0
            }
        )


def whole_moves(tree: Tree, plan: Plan) -> Moves:
    """The grams by which the device may move until the plan changes, nearest on each side."""
    opening, apart = tree.nodes[0].opening, plan.apart(0)
    if opening is None or apart is None:
        return Moves()
    shares = _Shares(tree, opening, apart, plan.rate)
    breaks = shares.breaks()
    down, up = [at for at in reversed(breaks) if at < 1], [at for at in breaks if at > 1]
    grams, then = tree.nodes[0].grams.likely, Then(0, Does.SELL if plan.opened[0] else Does.OPEN)
    sign = -1 if plan.opened[0] else 1
    return Moves(
        *(
            None if found is None else Margin(grams * (found[0] - 1), then, found[1])
            for found in (_first(shares, down, NOTHING, BELOW, sign), _first(shares, up, None, ABOVE, sign))
        )
    )


def _first(
    shares: _Shares, breaks: Sequence[Fraction], end: Fraction | None, side: int, sign: int
) -> tuple[Fraction, Edge] | None:
    """How many times as heavy the device is where first it comes to nothing more than by the plan. `sign`:
    of what it comes to opened more than whole, where the plan is no longer the better one.
    """
    for start, stop in zip([Fraction(1), *breaks], [*breaks, end], strict=True):
        more = sign * shares.more(start, side)
        if more > 0:
            return start, Edge.BEYOND
        each = (more - sign * shares.anyhow) / start * side
        if each > 0 and (at := start - more / each * side) > 0 and (stop is None or (at - stop) * side < 0):
            return at, Edge.EVEN
        if stop and sign * shares.more(stop) > 0:
            return stop, Edge.FROM
    return None


def weighing_whole(tree: Tree, plan: Plan) -> Fraction:
    """What knowing the weight of the device would be worth."""
    opening, apart, grams = tree.nodes[0].opening, plan.apart(0), tree.nodes[0].grams
    if opening is None or apart is None:
        return NOTHING
    shares, gained = _Shares(tree, opening, apart, plan.rate), NOTHING
    for often, weight in zip(HOW_OFTEN, grams, strict=True):
        more = shares.more(weight / grams.likely)
        gained += often * max(-more if plan.opened[0] else more, NOTHING)
    return gained
