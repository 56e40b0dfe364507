"""Lines in a grade of which nothing was brought: which bins are short, and may have been marked down to it.

A bin comes into question where it is short by more than the scales leave open (`core.weighed`), also where
no line stands for it, and the line's grade is below its own: as its buyers take it too, or cheaper in one
family. Where the line weighs what is short, alone or with all other such lines, that speaks for it; then so
does any grade that is paid less, and a line of which nobody says the grade. None of it is taken for
granted: whoever was there knows.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from gradewright.core.linked import Bin, Linked
from gradewright.core.lower import Lower
from gradewright.core.ticket import Ticket, exact
from gradewright.core.weighed import Halves, Side, agreed, side, steps_of


@dataclass(frozen=True, slots=True)
class MayBe:
    """A line may be of a bin. `together`: the lines that weigh what is short of it, if it is one of them."""

    line: int
    bin: int
    together: tuple[int, ...]


def may_be(
    ticket: Ticket,
    bins: Sequence[Bin],
    groups: Sequence[Linked],
    lower: Lower,
    weighed: Callable[[], Halves],
) -> list[MayBe]:
    """What lines that stand for no bin may be, of each line the likeliest bin first."""
    lines = [line for group in groups if not group.bins for line in group.lines]
    alone = [group for group in groups if len(group.bins) == 1 and bins[group.bins[0]].grade is not None]
    if not lines or not alone:
        return []
    halves = weighed()
    sides = [side(ticket, bins, group, (), halves) for group in alone]
    look = _Look(ticket, lines, lower, halves)
    found = [one for each in sides if each.short > each.open for one in look.of(each)]
    short = {each.place: each.short for each in sides}
    off = {one: abs(short[one.bin] - exact(ticket.lines[one.line].scale)) for one in found}
    return sorted(found, key=lambda one: (one.line, not one.together, off[one], one.bin))


@dataclass(frozen=True, slots=True)
class _Look:
    """What is looked at for each bin."""

    ticket: Ticket
    lines: Sequence[int]
    lower: Lower
    halves: Halves

    def of(self, each: Side) -> Iterator[MayBe]:
        """The lines that may be of a bin that is short."""
        upper = each.bin.grade or ""
        near = [line for line in self.lines if self.lower.near(upper, self._grade(line))]
        together = self._weigh(each, near)
        for line in self.lines:
            if self._weigh(each, [line]):
                if line in near or self._cheaper(upper, line):
                    yield MayBe(line, each.place, (line,))
            elif line in near:
                yield MayBe(line, each.place, tuple(near) if together else ())

    def _grade(self, line: int) -> str:
        return self.ticket.lines[line].grade or ""

    def _cheaper(self, upper: str, line: int) -> bool:
        grade = self._grade(line)
        return not grade or self.lower.cheaper(upper, grade)

    def _weigh(self, each: Side, lines: Sequence[int]) -> bool:
        """Whether lines together weigh what is short of a bin."""
        of = [self.ticket.lines[line] for line in lines]
        over = sum((exact(line.scale) for line in of), Fraction(0))
        deducted = sum((exact(line.deduction) for line in of), Fraction(0))
        return agreed(each, over, deducted, steps_of(self.ticket, lines, self.halves)) is not None
