"""How far what is on the scale is off what was brought, and what the scales leave open of that.

Each weight that was read stands for half a step to either side, and two scales are taken to agree to half a
per cent of a bin (common practice, no source). Whether what is short of one bin is what is over elsewhere is
seen by the steps, and half a per cent of what moved, and not of the bins, of which a large one would hide
anything; as the scale showed both, or less what was deducted.

The step is the last digit that was written. A scale may be coarser than it prints (`core.stepped`): what that
leaves open besides makes nothing agree, and nothing is certain that is within it.
"""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from gradewright.core.decimals import EXACT
from gradewright.core.linked import Bin, Linked
from gradewright.core.ticket import Ticket, exact

ZERO = Fraction(0)
AGREE = Fraction(1, 200)


@dataclass(frozen=True, slots=True)
class Halves:
    """Half a step of the scale that the ticket is from, and of the one that weighed the bins, in grams: by
    what is written, and what half a step may be at most. `times`: how often that may be in a bin that was
    weighed in parts, or of which one piece was.
    """

    ticket: Fraction = ZERO
    bins: Fraction = ZERO
    ticket_at_most: Fraction = ZERO
    bins_at_most: Fraction = ZERO
    times: Mapping[int, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Side:
    """A bin with its lines: by how much it is short on the scale, and what was deducted; what the steps of
    the scales leave open of that, what two scales do, and what they may where they are coarser than they
    print. `free`: those of its lines that nobody matched.
    """

    place: int
    bin: Bin
    lines: tuple[int, ...]
    free: tuple[int, ...]
    short: Fraction
    deducted: Fraction
    steps: Fraction
    open: Fraction
    may_open: Fraction


def lacks(ticket: Ticket, bins: Sequence[Bin], group: Linked) -> Decimal:
    """By how much the one bin of a group is short on the scale; below zero where there is more."""
    found = bins[group.bins[0]].grams
    for line in group.lines:
        found = EXACT.subtract(found, ticket.lines[line].scale)
    return found


def side(ticket: Ticket, bins: Sequence[Bin], group: Linked, by_hand: Container[int], halves: Halves) -> Side:
    """The one bin of a group, held against its lines."""
    (place,) = group.bins
    steps = halves.bins + steps_of(ticket, group.lines, halves)
    at_most = halves.bins_at_most * halves.times.get(place, 1)
    at_most = max(steps, at_most + halves.ticket_at_most * _readings(ticket, group.lines))
    differ = exact(bins[place].grams) * AGREE
    return Side(
        place,
        bins[place],
        group.lines,
        tuple(line for line in group.lines if line not in by_hand),
        exact(lacks(ticket, bins, group)),
        sum((exact(ticket.lines[line].deduction) for line in group.lines), ZERO),
        steps,
        steps + differ,
        at_most + differ,
    )


def steps_of(ticket: Ticket, lines: Sequence[int], halves: Halves) -> Fraction:
    """What the steps of the yard's scale leave open of lines together."""
    return halves.ticket * _readings(ticket, lines)


def agreed(one: Side, over: Fraction, deducted: Fraction, steps: Fraction) -> Fraction | None:
    """The grams that are over elsewhere, of which some were deducted there, where they are what is short of
    a bin; None where they are not. `steps`: what is left open of them.
    """
    steps, net = one.steps + steps, over - deducted
    for short, grams in ((one.short, over), (one.short + one.deducted, net)):
        if grams > 0 and abs(short - grams) <= steps + AGREE * min(short, grams):
            return grams
    return None


def _readings(ticket: Ticket, lines: Sequence[int]) -> int:
    """How often the yard's scale was read for lines."""
    of = (ticket.lines[line] for line in lines)
    return sum(1 if line.gross is None or not line.tare else 2 for line in of)
