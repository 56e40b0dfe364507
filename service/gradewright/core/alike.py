"""When it is not worth finding out more: the grades that are left pay nearly the same, or differ for the one
part by less than the time costs; and nothing depends on it that can hurt someone.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from gradewright.core.decimals import ROUNDING
from gradewright.core.grading import Reading

if TYPE_CHECKING:
    from gradewright.core.grading import Grader
    from gradewright.core.rulebook import Caution

ALIKE = Decimal("0.05")
"""Prices that lie within this share of the dearest are nearly the same: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Alike:
    """The cheapest and the dearest grade that are left, and the share of the dearest that lies between."""

    cheapest: str
    dearest: str
    share: Decimal
    within: Decimal


@dataclass(frozen=True, slots=True)
class TooLittle:
    """What knowing the grade of a part adds at most, and on average, and the minutes that it takes, which
    cost as much or more: amounts in minor units. `at_best`: it adds no more than that, and takes no less.
    Method 3 told of the minutes of the next test alone, and not what is added on average.
    """

    cheapest: str
    dearest: str
    spread: int
    minutes: Decimal
    costs: int
    adds: int = 0
    at_best: bool = False


def alike(ends: Collection[str | None], worth: Mapping[str, Decimal], within: Decimal) -> Alike | None:
    """How near the grades lie by price, if that is near enough; None where one has no price.

    `None` among the ends is a part that no rule grades: nobody knows what that pays.
    """
    prices = {grade: worth[grade] for grade in sorted(g for g in ends if g is not None) if grade in worth}
    if not prices or len(prices) < len(ends):
        return None
    cheapest = min(prices, key=lambda grade: prices[grade])
    dearest = max(prices, key=lambda grade: prices[grade])
    between = ROUNDING.subtract(prices[dearest], prices[cheapest])
    # A price below nothing is paid to be rid of a part: "nearly" is then a share of the larger of the two.
    against = max(abs(prices[dearest]), abs(prices[cheapest]))
    share = ROUNDING.divide(between, against) if against else Decimal(0)
    return Alike(cheapest, dearest, share, within) if share <= within else None


class OpenCautions:
    """Tells which cautions what is not known decides on.

    Nearly any caution could concern nearly any part. Open is one that the part has something to do with: it
    lists a grade that is left, one of its alternatives is met in part by what is known, or it goes with some
    of the grades that are left and not with others. Where it is in doubt whether it can apply, it is open.
    """

    def __init__(self, grader: Grader, *, all_told: bool = True) -> None:
        """`all_told`: those too that a part is told to have perhaps; method 2 left them out."""
        self._all_told = all_told
        self._grader = grader
        self._index = grader.index
        self._found: dict[tuple[int, int], tuple[Caution, ...]] = {}

    def of(self, possible: int, known: int) -> tuple[Caution, ...]:
        """The cautions that what is not known decides on."""
        key = (possible, known)
        found = self._found.get(key)
        if found is None:
            open_ones = dict.fromkeys(self._search(possible, known))
            if self._all_told:
                certain = possible & self._index.settled(known)
                perhaps = self._grader.concerning(Reading(possible, known, certain), None).possible
                open_ones |= dict.fromkeys(perhaps)
            found = self._found[key] = tuple(open_ones)
        return found

    def attributes(self, possible: int, known: int) -> set[str]:
        """The unknown attributes that open cautions ask for."""
        of = {caution.id for caution in self.of(possible, known)}
        clauses = (
            when
            for caution, _, _ in self._grader.numbered_cautions
            if caution.id in of
            for when in (*caution.when, *caution.unless)
        )
        axes = self._index.axes
        return {c.attribute for when in clauses for c in when if not known & axes[c.attribute].bit}

    def _search(self, possible: int, known: int) -> Iterator[Caution]:
        reach = self._grader.completions.reach(possible, known)
        rules, first = self._grader.rulebook.rules, self._index.first_rule
        ends = {rules[number - first].grade for number in reach.rules}
        certain = possible & self._index.settled(known)
        named = [{caution.id for caution in self._grader.cautions(None, grade)} for grade in ends]
        differ = set[str]().union(*named).difference(*(set.intersection(*named),) if named else ())
        for caution, when, unless in self._grader.numbered_cautions:
            if certain & unless:
                continue
            listed = ends & caution.grades
            sure = certain & when or (listed and listed == ends and not reach.none)
            if sure and not self._any_can_hold(unless, possible, known):
                continue
            some = when if caution.id in differ else self._met_in_part(when & possible, known)
            if certain & when or listed or self._any_can_hold(some, possible, known):
                yield caution

    def _met_in_part(self, clauses: int, known: int) -> int:
        """Those of the possible clauses of which something is known already."""
        met = 0
        for clause in _each(clauses):
            when = self._index.clauses[clause.bit_length() - 1]
            if any(known & self._index.axes[condition.attribute].bit for condition in when):
                met |= clause
        return met

    def _any_can_hold(self, clauses: int, possible: int, known: int) -> bool:
        return any(self._can_hold(clause, possible, known) for clause in _each(clauses & possible))

    def _can_hold(self, clause: int, possible: int, known: int) -> bool:
        """Whether some completion that can be meets a clause, given as its bit."""
        if not possible & clause:
            return False
        if self._index.settled(known) & clause:
            return self._grader.completions.can_be(possible, known)
        when = self._index.clauses[clause.bit_length() - 1]
        axis = next(a for c in when if not known & (a := self._index.axes[c.attribute]).bit)
        branches = {possible & mask for mask in axis.masks if mask & clause}
        return any(self._can_hold(clause, branch, known | axis.bit) for branch in branches)


def _each(bits: int) -> Iterator[int]:
    while bits:
        lowest = bits & -bits
        yield lowest
        bits ^= lowest
