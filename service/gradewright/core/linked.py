"""Which lines of a ticket stand for which bins, and what of a bin is on the lines of another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from gradewright.core.rates import Rate


@dataclass(frozen=True, slots=True)
class Bin:
    """What was expected to be sold as one: its weight, price and amount in minor units.

    `grade` is None where it was not known, `rate` and `amount` are where nobody has posted a price. `own`:
    its price is one that whoever sold it expected, and not one that was posted.
    """

    name: str
    grade: str | None
    grams: Decimal
    rate: Rate | None
    amount: int | None
    own: bool = False


@dataclass(frozen=True, slots=True)
class Linked:
    """Bins and lines that belong together, by their places, from 0. One of the two may be empty."""

    bins: tuple[int, ...]
    lines: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Moved:
    """So many grams of a bin are on `lines`, which are of the grade of another bin, `into`.

    `of_bin` and `of_into`: the lines of each by their grade or by hand; `lines` are among the latter.
    """

    bin: int
    into: int
    grams: Fraction
    lines: tuple[int, ...]
    of_bin: tuple[int, ...]
    of_into: tuple[int, ...]


def stands_for(
    grades: Sequence[str | None], bins: Sequence[Bin], by_hand: Mapping[int, Sequence[int]]
) -> dict[int, frozenset[int]]:
    """The bins of each line that has some: those named by hand, or else the bin of its grade.

    `grades`: what the lines were accepted as.
    """
    of_grade = {each.grade: place for place, each in enumerate(bins) if each.grade is not None}
    found = {}
    for line, grade in enumerate(grades):
        if named := by_hand.get(line):
            found[line] = frozenset(named)
        elif grade in of_grade:
            found[line] = frozenset({of_grade[grade]})
    return found


def linked(
    grades: Sequence[str | None], bins: Sequence[Bin], by_hand: Mapping[int, Sequence[int]]
) -> list[Linked]:
    """The groups: what the lines of each stand for. In the order of the bins, then the lines without one."""
    home = list(range(len(bins)))  # the first bin of the group that each is in

    def first(place: int) -> int:
        while home[place] != place:
            place = home[place]
        return place

    goes_to: dict[int, int] = {}
    for line, meant in stands_for(grades, bins, by_hand).items():
        goes_to[line] = min(meant)
        for place in meant:
            low, high = sorted((first(goes_to[line]), first(place)))
            home[high] = low
    groups: dict[int, tuple[list[int], list[int]]] = {}
    for place in range(len(bins)):
        groups.setdefault(first(place), ([], []))[0].append(place)
    for line, place in goes_to.items():
        groups[first(place)][1].append(line)
    together = [Linked(tuple(places), tuple(lines)) for places, lines in groups.values()]
    return [*together, *(Linked((), (line,)) for line in range(len(grades)) if line not in goes_to)]


def joined(by_hand: Mapping[int, Sequence[int]], found: Sequence[Moved]) -> dict[int, Sequence[int]]:
    """The bins of each line: those by hand, and those of lines that have some of another bin."""
    return {**by_hand, **{line: (each.into, each.bin) for each in found for line in each.lines}}
