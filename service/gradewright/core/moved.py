"""Weight that was brought as one grade and stands on a ticket as a cheaper one, which was brought too.

A yard that marks down some of a bin puts it on the line of the cheaper grade. Then the one bin is short, and
the line of the other has more than its bin. That is weight that moved, and no weight that is missing, where
nothing else would explain it:

- the one bin is short and the other line over by more than the scales leave open (`core.weighed`);
- both by the same, as far as the scales tell: so of both together there is as much on the ticket as was
  brought. No more moved than was in the bin;
- the one grade is the next below the other, both have prices, and no other bin comes into question for
  that line, nor another line for that bin.

What is short and over, and is not that, is a doubt: how much of it moved cannot be told. So it is where both
are off by the same to the last digit, by more than the steps, and no more than two scales differ: of honest
tickets one in eighty is so by chance, where scales are off by 0.2 to 0.4 % (2,500 tickets made up). Where the
buyers of the cheaper grade do not take the dearer one, as is known, it is one only where it is the same
weight that is short and over, beyond all that scales leave open: in grades of one family, and in any others
where nothing else comes into question. Lines that were matched by hand are taken as it was said.

Where nothing is short of a bin, and as much was deducted of it as is over on a line of a grade below it, that
is a doubt too: it may have gone there after it had been weighed.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import product

from gradewright.core.linked import Bin, Linked, Moved
from gradewright.core.lower import Lower
from gradewright.core.ticket import Ticket, exact
from gradewright.core.weighed import ZERO, Halves, Side, agreed, lacks, side


@dataclass(frozen=True, slots=True)
class Doubt:
    """`lines` have more than the bin `into`, and `bins` are short: how much moved cannot be told. `deducted`:
    nothing is short of these on the scale, and what was deducted of them is what is over.
    """

    bins: tuple[int, ...]
    into: int
    lines: tuple[int, ...]
    deducted: bool = False


def moved(
    ticket: Ticket,
    bins: Sequence[Bin],
    groups: Sequence[Linked],
    by_hand: Container[int],
    lower: Lower,
    weighed: Callable[[], Halves],
    *,
    same_is_sure: bool = False,
    on_scale: bool = False,
) -> tuple[list[Moved], list[Doubt]]:
    """What moved, and what is in doubt. `by_hand`: the lines that are left as they are. `weighed` is asked
    only where something is short and something over. `same_is_sure`: also where both are off by no more than
    two scales differ, if it is by the same to the last digit. `on_scale`: what was deducted is left alone
    where nothing is short on the scale.
    """
    single = [group for group in groups if len(group.bins) == 1 and bins[group.bins[0]].grade is not None]
    off = [(group, short) for group in single for short in [lacks(ticket, bins, group)] if short]
    deducted = [] if on_scale else [group for group in single if _deducted(ticket, group)]
    is_short = bool(deducted) or any(short > 0 for _, short in off)
    if not is_short or not any(short < 0 for _, short in off):
        return [], []
    halves = weighed()
    sides = [side(ticket, bins, group, by_hand, halves) for group, _ in off]
    short = [each for each in sides if each.short > 0]
    over = [each for each in sides if each.short < 0 and each.free]
    steps = {each.place: lower.kin(each.bin.grade or "") for each in short}
    pairs = [(one, other) for other, one in product(over, short) if _in_question(one, other, lower)]
    pairs += list(_by_weight(short, over, pairs, lower))
    found, doubts = list[Moved](), list[Doubt]()
    for other in over:
        ones = [one for one, into in pairs if into is other]
        alone = len(ones) == 1 and sum(one is ones[0] for one, _ in pairs) == 1
        sure = alone and (same_is_sure or _beyond_all(ones[0], other))
        grams = _agreed(ones[0], other) if sure else None
        if grams is None or steps[ones[0].place].get(other.bin.grade or "") != 1:
            if ones:
                doubts.append(Doubt(tuple(one.place for one in ones), other.place, other.free))
            continue
        one = ones[0]
        found.append(Moved(one.place, other.place, grams, other.free, one.lines, other.lines))
    whole = [side(ticket, bins, group, by_hand, halves) for group in deducted]
    known = {each.into for each in found} | {each.into for each in doubts}
    doubts += _by_deduction(whole, [other for other in over if other.place not in known], lower)
    return found, doubts


def _deducted(ticket: Ticket, group: Linked) -> bool:
    return any(ticket.lines[line].deduction for line in group.lines)


def _by_deduction(whole: Sequence[Side], over: Sequence[Side], lower: Lower) -> Iterator[Doubt]:
    """What is over may be what was deducted elsewhere, of which nothing is short: it went to another pile
    after it had been weighed.
    """
    for other in over:
        gone = [
            replace(one, short=one.deducted, deducted=ZERO) for one in whole if abs(one.short) <= one.open
        ]
        ones = tuple(
            one.place
            for one in gone
            if lower.near(one.bin.grade or "", other.bin.grade or "")
            and -other.short > other.open
            and agreed(one, -other.short, ZERO, other.steps) is not None
        )
        if ones:
            yield Doubt(ones, other.place, other.free, deducted=True)


def _in_question(one: Side, other: Side, lower: Lower) -> bool:
    """Whether some of the one may be on the line of the other, which is below it."""
    upper, below = one.bin.grade or "", other.bin.grade or ""
    if below in lower.kin(upper):
        return _beyond_scales(one, other)
    return lower.family(upper, below) and _weighs(one, other)


def _by_weight(
    short: Sequence[Side], over: Sequence[Side], pairs: Sequence[tuple[Side, Side]], lower: Lower
) -> Iterator[tuple[Side, Side]]:
    """What nothing but the weight speaks for, of sides of which nothing else is in question."""
    known = {each.place for pair in pairs for each in pair}
    for other, one in product(over, short):
        cheaper = lower.cheaper(one.bin.grade or "", other.bin.grade or "")
        if cheaper and not {one.place, other.place} & known and _weighs(one, other):
            yield one, other


def _weighs(one: Side, other: Side) -> bool:
    """Whether the same weight is short and over, by more than two scales differ."""
    return _beyond_open(one, other) and _agreed(one, other) is not None


def _beyond_scales(one: Side, other: Side) -> bool:
    """Whether each is off by more than the scales leave open: the steps alone where it is by the same."""
    if one.short == -other.short:
        return one.short > max(one.steps, other.steps)
    return _beyond_open(one, other)


def _beyond_open(one: Side, other: Side) -> bool:
    return one.short > one.open and -other.short > other.open


def _beyond_all(one: Side, other: Side) -> bool:
    """Whether each is off by more than the scales may leave open, however coarse they can be."""
    return one.short > one.may_open and -other.short > other.may_open


def _agreed(one: Side, other: Side) -> Fraction | None:
    """The grams that moved, by what is over on the other; None where what is short is not the same."""
    if one.bin.rate is None or other.bin.rate is None:
        return None
    grams = agreed(one, -other.short, other.deducted, other.steps)
    return None if grams is None else min(grams, exact(one.bin.grams))
