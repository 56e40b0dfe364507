"""How the bins of a settlement were accepted: as what they were, or as something that is paid less for.

It can be told of a bin that is on lines of its own, and of bins on lines with others where all of these were
accepted as one grade: how much of each is on them says `core.filled`. That is one way of many: since method 6
it is told what it can be (`core.divided`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from gradewright.core.between import Between
from gradewright.core.filled import Together
from gradewright.core.linked import Bin, Moved
from gradewright.core.ticket import TicketLine, exact

Taken = tuple[str | None, Fraction]
"""The grade that so many grams were accepted as."""
ZERO = Fraction(0)


@dataclass(frozen=True, slots=True)
class Accepted:
    """How a bin was accepted: `share` is the part of its price that it was marked down by, 0 if none, and
    None where that cannot be told. Prices are those that were posted.
    """

    grade: str
    share: Fraction | None


@dataclass(frozen=True, slots=True)
class MarkedDown:
    """So many grams of a bin were accepted as a grade of which less is paid, and are on these lines. On lines
    of several bins it is the share by which these are short alike, and may be anything `between`; None where
    nothing else can be. `shared`: whether there is such a share, and not only what is certain.
    """

    bin: int
    grade: str
    grams: Fraction
    lines: tuple[int, ...]
    between: Between | None = None
    shared: bool = True

    @property
    def certain(self) -> bool:
        """Whether any of it was, whatever way the lines are divided."""
        return self.between is None or self.between.least > 0


class Accepting:
    """How bins were accepted. `posted`: what is paid for a gram of each grade, as far as that is known."""

    def __init__(
        self, bins: Sequence[Bin], lines: Sequence[TicketLine], posted: Mapping[str, Fraction]
    ) -> None:
        self._bins = bins
        self._lines = lines
        self._posted = posted

    def as_moved(self, at: Moved) -> Iterator[Accepted]:
        """Each of two bins by its own lines, and by what of the one is on those of the other."""
        lower = self._bins[at.into].grade
        for place, lines, grams in ((at.bin, at.of_bin, at.grams), (at.into, at.of_into, -at.grams)):
            taken: list[Taken] = [*self._taken(lines), (lower, grams)]
            if sum(weight for _, weight in taken) > 0:
                yield from self._told(place, taken)

    def together(self, each: Together) -> Iterator[Accepted]:
        """Bins by the lines that are theirs alone, and by what they have of others."""
        for place, own, shared in self._shares(each):
            yield from self._told(place, None if shared is None else [*self._taken(own), *shared])

    def marked_down(self, each: Together) -> Iterator[MarkedDown]:
        """What of each bin was accepted as a grade that is paid less, as far as that can be told."""
        for place, own, shared in self._shares(each):
            found: dict[str, tuple[Fraction, tuple[int, ...]]] = {}
            of_shared = [(grade, weight, tuple(each.shared)) for grade, weight in shared or ()]
            of_own = [(*taken, (line,)) for line in own for taken in self._taken([line])]
            for grade, weight, lines in (*of_own, *of_shared):
                if grade is not None and weight > 0 and self.is_less(grade, self._bins[place].grade):
                    grams, before = found.get(grade, (ZERO, ()))
                    found[grade] = grams + weight, (*before, *lines)
            for grade, (grams, lines) in found.items():
                yield MarkedDown(place, grade, grams, tuple(sorted(lines)))

    def unsaid(self, each: Together) -> set[int]:
        """The bins of which nobody knows as what their share of lines with others was accepted."""
        return {place for place, _, shared in self._shares(each) if shared is None}

    def _shares(self, each: Together) -> Iterator[tuple[int, list[int], list[Taken] | None]]:
        """Each bin with the lines that are its own, and what it has of others, None where nobody knows as
        what that was accepted.
        """
        grades = {self._lines[line].grade for line in each.shared}
        scale = sum((exact(self._lines[line].scale) for line in each.shared), ZERO)
        net = sum((weight for _, weight in self._taken(each.shared)), ZERO)
        for place, grams in each.scale.items():
            own = [line for line, of in each.own.items() if of == place]
            left = grams - sum((exact(self._lines[line].scale) for line in own), ZERO)
            if left and len(grades) > 1:
                yield place, own, None
            else:
                yield place, own, [(grade, left * net / scale) for grade in grades] if left else []

    def is_less(self, lower: str, grade: str | None) -> bool:
        """Whether less is posted for a grade than for another."""
        paid, brought = self._posted.get(lower), self._posted.get(grade or "")
        return paid is not None and brought is not None and paid < brought

    def _taken(self, lines: Sequence[int]) -> list[Taken]:
        of = [self._lines[line] for line in lines]
        return [(line.grade, exact(line.right_net)) for line in of]

    def _told(self, place: int, taken: Sequence[Taken] | None) -> Iterator[Accepted]:
        each = self._bins[place]
        if each.grade is not None and each.rate is not None and each.rate.price > 0:
            yield Accepted(each.grade, None if taken is None else self._share(each.grade, taken))

    def _share(self, grade: str, taken: Sequence[Taken]) -> Fraction | None:
        """The share of a grade's price that it is less than; None where not all prices are known."""
        if all(lower == grade for lower, _ in taken):
            return ZERO
        brought = self._posted.get(grade)
        worth = promised = ZERO
        for lower, weight in taken:
            accepted = self._posted.get(lower or "")
            if accepted is None or brought is None or brought <= 0:
                return None
            worth, promised = worth + weight * accepted, promised + weight * brought
        return max(ZERO, 1 - worth / promised)
