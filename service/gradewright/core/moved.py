"""Weight that was brought as one grade and stands on a ticket as the next cheaper one, which was brought too.

A yard that marks down some of a bin puts it on the line of the cheaper grade. Then the one bin is short, and
the line of the other has more than its bin. That is weight that moved, and no weight that is missing, where
nothing else would explain it:

- the one bin is short and the other line over by more than the scales leave open: each weight that was read
  stands for half a step to either side, and two scales are taken to agree to half a per cent of a bin
  (common practice, no source);
- both by the same, as far as the scales tell: by their steps, and half a per cent of what moved, and not of
  the bins, of which a large one would hide anything. So of both together there is as much on the ticket as
  was brought, as the scale showed it or less what was deducted. Where that is so to the last digit, only
  the steps are left open. No more moved than was in the bin;
- the one grade is the next below the other, both have prices, and no other bin comes into question for
  that line, nor another line for that bin.

What is short and over, and is not that, is a doubt: how much of it moved cannot be told. Lines that were
matched by hand are taken as it was said.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from itertools import product

from gradewright.core.decimals import EXACT
from gradewright.core.linked import Bin, Linked, Moved
from gradewright.core.ticket import Ticket, TicketLine, exact

ZERO = Fraction(0)
AGREE = Fraction(1, 200)
Below = Callable[[str], Mapping[str, int]]
"""The grades as which what was brought may be accepted instead, and how many steps down each is."""


@dataclass(frozen=True, slots=True)
class Halves:
    """Half a step of the scale that the ticket is from, and of the one that weighed the bins, in grams."""

    ticket: Fraction = ZERO
    bins: Fraction = ZERO


@dataclass(frozen=True, slots=True)
class Doubt:
    """`lines` have more than the bin `into`, and `bins` are short: how much moved cannot be told."""

    bins: tuple[int, ...]
    into: int
    lines: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class _Side:
    """A bin with its lines: by how much it is short on the scale, and what was deducted; what the steps of
    the scales leave open of that, and what two scales do.
    """

    place: int
    bin: Bin
    lines: tuple[int, ...]
    free: tuple[int, ...]
    short: Fraction
    deducted: Fraction
    steps: Fraction
    open: Fraction


def moved(
    ticket: Ticket,
    bins: Sequence[Bin],
    groups: Sequence[Linked],
    by_hand: Container[int],
    below: Below,
    weighed: Callable[[], Halves],
) -> tuple[list[Moved], list[Doubt]]:
    """What moved, and what is in doubt. `by_hand`: the lines that are left as they are. `weighed` is asked
    only where something is short and something over.
    """
    off = [
        (group, lacks)
        for group in groups
        if len(group.bins) == 1 and bins[group.bins[0]].grade is not None
        for lacks in [_lacks(ticket, bins, group)]
        if lacks
    ]
    if not {lacks > 0 for _, lacks in off} >= {True, False}:
        return [], []
    halves = weighed()
    sides = [_side(ticket, bins, group, by_hand, halves) for group, _ in off]
    short = [each for each in sides if each.short > 0]
    over = [each for each in sides if each.short < 0 and each.free]
    steps = {each.place: below(each.bin.grade or "") for each in short}
    pairs = [
        (one, other)
        for other, one in product(over, short)
        if other.bin.grade in steps[one.place] and _beyond_scales(one, other)
    ]
    found, doubts = [], []
    for other in over:
        ones = [one for one, into in pairs if into is other]
        alone = len(ones) == 1 and sum(one is ones[0] for one, _ in pairs) == 1
        grams = _agreed(ones[0], other) if alone else None
        if grams is None or steps[ones[0].place][other.bin.grade or ""] != 1:
            if ones:
                doubts.append(Doubt(tuple(one.place for one in ones), other.place, other.free))
            continue
        one = ones[0]
        found.append(Moved(one.place, other.place, grams, other.free, one.lines, other.lines))
    return found, doubts


def _lacks(ticket: Ticket, bins: Sequence[Bin], group: Linked) -> Decimal:
    """By how much the one bin of a group is short on the scale; below zero where there is more."""
    lacks = bins[group.bins[0]].grams
    for line in group.lines:
        lacks = EXACT.subtract(lacks, ticket.lines[line].scale)
    return lacks


def _side(
    ticket: Ticket, bins: Sequence[Bin], group: Linked, by_hand: Container[int], halves: Halves
) -> _Side:
    lines = [ticket.lines[line] for line in group.lines]
    (place,) = group.bins
    brought = exact(bins[place].grams)
    steps = halves.bins + halves.ticket * sum(_readings(line) for line in lines)
    return _Side(
        place,
        bins[place],
        group.lines,
        tuple(line for line in group.lines if line not in by_hand),
        exact(_lacks(ticket, bins, group)),
        sum((exact(line.deduction) for line in lines), ZERO),
        steps,
        steps + brought * AGREE,
    )


def _readings(line: TicketLine) -> int:
    return 1 if line.gross is None or not line.tare else 2


def _beyond_scales(one: _Side, other: _Side) -> bool:
    """Whether each is off by more than the scales leave open: the steps alone where it is by the same."""
    if one.short == -other.short:
        return one.short > max(one.steps, other.steps)
    return one.short > one.open and -other.short > other.open


def _agreed(one: _Side, other: _Side) -> Fraction | None:
    """The grams that moved, by what is over on the other; None where what is short is not the same."""
    if one.bin.rate is None or other.bin.rate is None:
        return None
    steps, brought = one.steps + other.steps, exact(one.bin.grams)
    over, net = -other.short, -other.short - other.deducted
    for short, grams in ((one.short, over), (one.short + one.deducted, net)):
        if grams > 0 and abs(short - grams) <= steps + AGREE * min(short, grams):
            return min(grams, brought)
    return None
