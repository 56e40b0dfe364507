"""How far what is on the scale is off what was brought, and what the scales leave open of that.

Each weight that was read stands for half a step to either side, and two scales are taken to agree to half a
per cent of a bin (common practice, no source). Whether what is short of one bin is what is over elsewhere is
seen by the steps, and half a per cent of what moved, and not of the bins, of which a large one would hide
anything; as the scale showed both, or less what was deducted.
"""

from __future__ import annotations

from collections.abc import Container, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from gradewright.core.decimals import EXACT
from gradewright.core.linked import Bin, Linked
from gradewright.core.ticket import Ticket, TicketLine, exact

ZERO = Fraction(0)
AGREE = Fraction(1, 200)


@dataclass(frozen=True, slots=True)
class Halves:
    """Half a step of the scale that the ticket is from, and of the one that weighed the bins, in grams."""

    ticket: Fraction = ZERO
    bins: Fraction = ZERO


@dataclass(frozen=True, slots=True)
class Side:
    """A bin with its lines: by how much it is short on the scale, and what was deducted; what the steps of
    the scales leave open of that, and what two scales do. `free`: those of its lines that nobody matched.
    """

    place: int
    bin: Bin
    lines: tuple[int, ...]
    free: tuple[int, ...]
    short: Fraction
    deducted: Fraction
    steps: Fraction
    open: Fraction


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
    return Side(
        place,
        bins[place],
        group.lines,
        tuple(line for line in group.lines if line not in by_hand),
        exact(lacks(ticket, bins, group)),
        sum((exact(ticket.lines[line].deduction) for line in group.lines), ZERO),
        steps,
        steps + exact(bins[place].grams) * AGREE,
    )


def steps_of(ticket: Ticket, lines: Sequence[int], halves: Halves) -> Fraction:
    """What the steps of the yard's scale leave open of lines together."""
    return halves.ticket * sum(_readings(ticket.lines[line]) for line in lines)


def agreed(one: Side, over: Fraction, deducted: Fraction, steps: Fraction) -> Fraction | None:
    """The grams that are over elsewhere, of which some were deducted there, where they are what is short of
    a bin; None where they are not. `steps`: what is left open of them.
    """
    steps, net = one.steps + steps, over - deducted
    for short, grams in ((one.short, over), (one.short + one.deducted, net)):
        if grams > 0 and abs(short - grams) <= steps + AGREE * min(short, grams):
            return grams
    return None


def _readings(line: TicketLine) -> int:
    return 1 if line.gross is None or not line.tare else 2
