"""From what to what bins have of lines that stand for several, of which `core.filled` takes one share.

Whatever way the lines can be divided, these hold: no bin has more than was brought, as long as a way without
that is left; and where bins have more than that together on all ways, none of them has less than was brought.
Of all such ways the least is told that a bin has of the lines of one grade, and the most. What a bin has
least is what finds no room elsewhere (`core.poured`), and it has most where it has least of all its other
lines. Where there is too much, and a bin's lines are of several grades, only what those weigh is told.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm

from gradewright.core.filled import Together
from gradewright.core.poured import Bins, poured

ZERO = Fraction(0)
Grade = str | None
Lines = Mapping[int, tuple[Fraction, Bins]]


@dataclass(frozen=True, slots=True)
class Between:
    """Grams on the scale."""

    least: Fraction
    most: Fraction


def between(
    brought: Mapping[int, Fraction], lines: Lines, grades: Mapping[int, Grade], found: Sequence[Together]
) -> dict[tuple[int, Grade], Between]:
    """By bin and grade, for all lines of several bins. `found`: what `core.filled` says of the same group."""
    if all(len(of) == 1 for _, of in lines.values()):
        return {}
    unit = lcm(*(each.denominator for each in (*brought.values(), *(weighs for weighs, _ in lines.values()))))
    over = [one for one in found if sum(one.scale.values()) > sum(brought[place] for place in one.scale)]
    under = [one for one in found if one not in over]
    told: dict[tuple[int, Grade], Between] = {}
    if under:
        told |= _Ways(brought, lines, grades, unit, under).short()
    if over:
        told |= _Ways(brought, lines, grades, unit, over).too_much()
    return told


class _Ways:
    """One way to divide the lines of bins, from which others are found, in whole numbers."""

    def __init__(
        self,
        brought: Mapping[int, Fraction],
        lines: Lines,
        grades: Mapping[int, Grade],
        unit: int,
        together: Sequence[Together],
    ) -> None:
        bins = frozenset(place for one in together for place in one.scale)
        self.unit = unit
        self.grades = grades
        self.brought = {place: int(brought[place] * unit) for place in bins}
        of = sorted(line for one in together for line in (*one.own, *one.shared))
        self.weighs = {line: int(lines[line][0] * unit) for line in of}
        self.stands = {line: lines[line][1] & bins for line in of}
        self.several = {line for line in of if len(lines[line][1]) > 1}
        self.left, self.room = dict(self.weighs), dict(self.brought)
        self.placed: dict[int, dict[int, int]] = {place: {} for place in bins}
        poured(self.left, self.room, self.placed, self.stands)

    def short(self) -> dict[tuple[int, Grade], Between]:
        """Where no bin has more than was brought."""
        told = {}
        for place, grade, some in self._asked():
            others = {line for line, of in self.stands.items() if place in of} - some
            room = self.brought[place] - self._least(place, others)
            most = min(sum(self.weighs[line] for line in some), room)
            told[place, grade] = self._as(self._least(place, some), most)
        return told

    def too_much(self) -> dict[tuple[int, Grade], Between]:
        """Where none has less than was brought."""
        told = {}
        for place, grade, some in self._asked():
            sure = sum(self.weighs[line] for line in some if len(self.stands[line]) == 1)
            shared = {line for line in some if len(self.stands[line]) > 1}
            others = {line for line, of in self.stands.items() if place in of} - some
            if all(len(self.stands[line]) == 1 for line in others):
                own = sure + sum(self.weighs[line] for line in others)
                least, most = max(0, self.brought[place] - own), self._most(place) - own
            else:
                least, most = 0, sum(self.weighs[line] for line in shared)
            told[place, grade] = self._as(sure + least, sure + most)
        return told

    def _asked(self) -> Iterator[tuple[int, Grade, set[int]]]:
        """Each bin with each grade of lines that are of it and of others, and those lines."""
        for place in sorted(self.brought):
            of = [line for line in sorted(self.several) if place in self.stands[line]]
            for grade in dict.fromkeys(self.grades[line] for line in of):
                yield place, grade, {line for line in of if self.grades[line] == grade}

    def _least(self, place: int, some: set[int]) -> int:
        """The least that a bin has of some lines: what has to be in it."""
        room, placed = dict(self.room), {at: dict(of) for at, of in self.placed.items()}
        left = {line: placed[place].pop(line, 0) for line in sorted(some)}
        room[place] += sum(left.values())
        stands = {**self.stands, **{line: self.stands[line] - {place} for line in some}}
        poured(left, room, placed, stands)
        return sum(left.values())

    def _most(self, place: int) -> int:
        """The most that a bin has where all others have what was brought."""
        left, placed = dict(self.left), {at: dict(of) for at, of in self.placed.items()}
        there = sum(left.values())
        poured(left, {**self.room, place: there}, placed, self.stands)
        return self.brought[place] + there - sum(left.values())

    def _as(self, least: int, most: int) -> Between:
        return Between(Fraction(least, self.unit), Fraction(most, self.unit))
