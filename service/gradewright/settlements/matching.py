"""Which lines of a ticket stand for which bins: by the grade of both, or by hand. Never a guess.

What is unclear is told, with what can be written to make it clear.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from gradewright.core.decimals import EXACT
from gradewright.core.linked import Linked
from gradewright.core.marked import MayBe
from gradewright.core.ticket import TicketLine
from gradewright.rulebooks.service import resolve_grade
from gradewright.settlements.expected import Expected, ExpectedBin
from gradewright.settlements.given import MatchGiven
from gradewright.settlements.reading import Faults
from gradewright.settlements.words import named_lines

MOST_MEANT = 3


@dataclass(frozen=True, slots=True)
class Meant:
    """What may be written under `matches`: a line, and a bin by its grade or a part by its name."""

    line: int
    bin: str | None
    part: str | None


@dataclass(frozen=True, slots=True)
class Unclear:
    """A line that stands for no bin: why, and what it may have been meant for: each by itself, and all of
    `meant_together`.
    """

    line: int
    because: str
    meant: tuple[Meant, ...]
    meant_together: tuple[Meant, ...]


def by_hand(
    given: Sequence[MatchGiven], expected: Expected, lines: int, faults: Faults
) -> dict[int, tuple[int, ...]]:
    """What was written: for places of lines the places of their bins."""
    found: dict[int, tuple[int, ...]] = {}
    for number, match in enumerate(given):
        at = ("matches", number)
        if match.line > lines:
            faults.add(f"There is no line {match.line}: the ticket has lines 1 to {lines}.", *at, "line")
            continue
        places = _places(match, expected, at, faults)
        if places is None:
            continue
        before = found.get(match.line - 1, ())
        if set(places) <= set(before):
            faults.add("That is said already: say it once.", *at)
        found[match.line - 1] = (*before, *places)
    return found


def _places(
    match: MatchGiven, expected: Expected, at: tuple[str | int, ...], faults: Faults
) -> tuple[int, ...] | None:
    if match.part is not None:
        bins = expected.parts.get(match.part, frozenset())
        # Those that have a grade are named by that; so the name is left for the one that has none.
        if len(bins) > 1:
            bins = frozenset(place for place in bins if expected.bins[place].bin.grade is None) or bins
        if len(bins) == 1:
            return tuple(bins)
        if not bins:
            parts = tuple(expected.parts)[:MOST_MEANT]
            faults.add(f"No part that was valued is called {match.part!r}.", *at, "part", suggestions=parts)
        else:
            detail = f"Parts called {match.part!r} are in {len(bins)} bins: name the bin."
            faults.add(detail, *at, "part")
        return None
    grade = faults.take(lambda: resolve_grade(expected.version.rulebook, match.bin or "", ("bin",)), *at)
    if grade is None:
        return None
    place = next((place for place, each in enumerate(expected.bins) if each.bin.grade == grade), None)
    if place is None:
        there = tuple(each.bin.grade for each in expected.bins if each.bin.grade is not None)[:MOST_MEANT]
        detail = f"Nothing of {grade} was expected: name a bin that was."
        faults.add(detail, *at, "bin", suggestions=there)
        return None
    return (place,)


def unclear(
    lines: Sequence[TicketLine],
    expected: Expected,
    groups: Iterable[Linked],
    yard: str,
    may_be: Sequence[MayBe],
) -> list[Unclear]:
    """The lines that stand for no bin: each with the bins that it may be, marked down, and then those on no
    line, the nearest to its weight first.
    """
    without = [place for group in groups if not group.lines for place in group.bins]
    found = []
    for group in groups:
        if group.bins:
            continue
        (place,) = group.lines
        line = lines[place]
        maybe = [one for one in may_be if one.line == place]
        nearest = sorted(without, key=lambda bin_: _apart(expected.bins[bin_], line))
        places = dict.fromkeys([*(one.bin for one in maybe), *nearest])
        meant = tuple(_meant(place, expected.bins[bin_]) for bin_ in [*places][:MOST_MEANT])
        because = " ".join([_because(line, expected, yard), *_marked_down(line, maybe, expected)])
        together = tuple(_meant(place, expected.bins[bin_]) for bin_ in maybe[0].bins) if maybe else ()
        found.append(Unclear(place + 1, because, meant, together))
    return found


def _because(line: TicketLine, expected: Expected, yard: str) -> str:
    if line.grade is not None:
        name = expected.version.rulebook.grades[line.grade].name
        return f"Nothing of {name} was expected."
    return (
        f"{line.label!r} stands for no grade at {yard} on that day: write the grade that it was accepted as, "
        "or which bin it was."
    )


def _marked_down(line: TicketLine, maybe: Sequence[MayBe], expected: Expected) -> Iterator[str]:
    """What speaks for bins that it may be: the weight, or that they are dearer and short."""
    if maybe and maybe[0].bins:
        bins = " and of ".join(_called(bin_, expected) for bin_ in maybe[0].bins)
        what = "it may be of each of these." if line.grade is None else "it may be all of that, marked down."
        yield f"It weighs what is missing of {bins} together: {what}"
        return
    weighs = [one for one in maybe if one.together]
    for together in dict.fromkeys(one.together for one in weighs):
        bins = " or of ".join(_called(one.bin, expected) for one in weighs if one.together == together)
        others = [other for other in together if other != weighs[0].line]
        with_ = f"Together with {named_lines(others)} it" if others else "It"
        what = "it may be some of that." if line.grade is None else "it may be that, marked down."
        yield f"{with_} weighs what is missing of {bins}: {what}"
    if maybe and not weighs:
        bins = " and of ".join(_called(one.bin, expected) for one in maybe)
        yield f"There is less of {bins} than was brought: it may be some of that, marked down."


def _called(place: int, expected: Expected) -> str:
    each = expected.bins[place].bin
    return each.name if each.grade is None else expected.version.rulebook.grades[each.grade].name


def _apart(each: ExpectedBin, line: TicketLine) -> tuple[Decimal, str]:
    return EXACT.subtract(each.bin.grams, line.scale).copy_abs(), each.bin.name


def _meant(place: int, each: ExpectedBin) -> Meant:
    grade = each.bin.grade
    return Meant(place + 1, grade, each.bin.name if grade is None else None)
