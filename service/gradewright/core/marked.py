"""Lines in a grade of which nothing was brought: which bins are short, and may have been marked down to it.

A bin comes into question where it is short by more than the scales leave open (`core.weighed`), also where
no line stands for it, and the line's grade is below its own: as its buyers take it too, or cheaper in one
family. Where the line weighs what is short, alone or with all other such lines, that speaks for it; then so
does any grade that is paid less, and a line of which nobody says the grade. A line that weighs what is short
of all such bins together may be of them all, where nothing else has its weight; or of two or three of them,
if of few bins only these have it. None of it is taken for granted: whoever was there knows.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import chain, combinations

from gradewright.core.linked import Bin, Linked
from gradewright.core.lower import Lower
from gradewright.core.ticket import Ticket, exact
from gradewright.core.weighed import Halves, Side, agreed, side, steps_of

SOME = (2, 3)
"""Of so many bins, which are not all that are short, a line may weigh what is missing."""
FEW = 6
"""Of more bins than that some weigh the same as a line by chance."""


@dataclass(frozen=True, slots=True)
class MayBe:
    """A line may be of a bin. `together`: the lines that weigh what is short of it, if it is one of them;
    `bins`: those of which it weighs what is short of them together, this one among them.
    """

    line: int
    bin: int
    together: tuple[int, ...]
    bins: tuple[int, ...] = ()


def may_be(
    ticket: Ticket,
    bins: Sequence[Bin],
    groups: Sequence[Linked],
    lower: Lower,
    weighed: Callable[[], Halves],
    *,
    all_or_none: bool = False,
) -> list[MayBe]:
    """What lines that stand for no bin may be, of each line the likeliest bin first. `all_or_none`: where a
    line may be of several bins together, only of all that are short.
    """
    lines = [line for group in groups if not group.bins for line in group.lines]
    alone = [group for group in groups if len(group.bins) == 1 and bins[group.bins[0]].grade is not None]
    if not lines or not alone:
        return []
    halves = weighed()
    sides = [side(ticket, bins, group, (), halves) for group in alone]
    look = _Look(ticket, lines, lower, halves)
    lacking = [each for each in sides if each.short > each.open]
    found = [one for each in lacking for one in look.of(each)]
    found = look.thrown_together(lacking, found)
    if not all_or_none:
        found = look.some_together(lacking, found)
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

    def thrown_together(self, lacking: Sequence[Side], found: Sequence[MayBe]) -> list[MayBe]:
        """The same, with lines of which nothing has the weight but several bins together."""
        weighs = {one.line for one in found if one.together}
        done = list(found)
        for line in self.lines:
            grade = self._grade(line)
            near = [each for each in lacking if not grade or self.lower.near(each.bin.grade or "", grade)]
            if line not in weighs and len(near) > 1 and self._weigh(_as_one(near), [line]):
                bins = tuple(each.place for each in near)
                done = [one for one in done if one.line != line]
                done += [MayBe(line, place, (line,), bins) for place in bins]
        return done

    def some_together(self, lacking: Sequence[Side], found: Sequence[MayBe]) -> list[MayBe]:
        """The same, with lines of which only some of the bins together have the weight, and no others."""
        weighs = {one.line for one in found if one.together}
        done = list(found)
        for line in self.lines:
            grade = self._grade(line)
            near = [each for each in lacking if not grade or self.lower.near(each.bin.grade or "", grade)]
            if line in weighs or not SOME[0] < len(near) <= FEW:
                continue
            groups = chain.from_iterable(combinations(near, count) for count in SOME if count < len(near))
            fits = [group for group in groups if self._weigh(_as_one(group), [line])]
            if len(fits) == 1:
                bins = tuple(each.place for each in fits[0])
                done = [one for one in done if one.line != line or one.bin not in bins]
                done += [MayBe(line, place, (line,), bins) for place in bins]
        return done

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


def _as_one(sides: Sequence[Side]) -> Side:
    """Bins as if they were one, as far as weights go."""

    def in_all(of: Callable[[Side], Fraction]) -> Fraction:
        return sum(map(of, sides), Fraction(0))

    return replace(
        sides[0],
        short=in_all(lambda each: each.short),
        deducted=in_all(lambda each: each.deducted),
        steps=in_all(lambda each: each.steps),
    )
