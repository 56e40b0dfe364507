"""Which cautions concern a part of which not everything is known: what is unknown is taken for the worst.

A caution can concern it if some part that fits the description, and can be, has it: meets one of its
alternatives or ends at one of its grades, and meets none of its exceptions. That is looked for exactly. But
nearly any part could be oily, or burnt, where nothing is said of it: of what can be, only that is told to
which something points, which is what is known, or a rule that can still hold and asks for the same attribute.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable

    from gradewright.core.grading import Grader, Reading
    from gradewright.core.rulebook import Caution

KEPT = 20_000  # answers remembered per rulebook, each two tuples of the rulebook's own cautions


class Concerning(NamedTuple):
    """The cautions that concern a part for certain, and those that can still turn out to."""

    certain: tuple[Caution, ...]
    possible: tuple[Caution, ...] = ()

    @property
    def all(self) -> tuple[Caution, ...]:
        """All of them, those that are certain first."""
        return (*self.certain, *self.possible)


def of_grades(grader: Grader, grades: Iterable[str | None]) -> Concerning:
    """What concerns things of which nothing but the grades is known, each caution once: certain is what lists
    one of the grades, the rest concerns some of what is given them.
    """
    named = dict.fromkeys(grade for grade in grades if grade is not None)
    found = dict.fromkeys(one for grade in named for one in grader.cautions(None, grade))
    return Concerning(
        tuple(one for one in found if not named.keys().isdisjoint(one.grades)),
        tuple(one for one in found if named.keys().isdisjoint(one.grades)),
    )


class Concerns:
    """Tells what concerns parts; made once per rulebook, remembers its answers."""

    def __init__(self, grader: Grader) -> None:
        self._grader = grader
        self._index = index = grader.index
        self._found: dict[tuple[int, int], Concerning] = {}
        # For each alternative of a caution the attributes that it asks for, and the rules that ask for one.
        self._pointers: dict[int, tuple[int, int]] = {}
        asked = [sum({index.axes[c.attribute].bit for c in when}) for when in index.clauses]
        for _, alternatives, _ in grader.numbered_cautions:
            for clause in _each(alternatives):
                own = asked[clause.bit_length() - 1]
                rules = (n for n in range(index.first_rule, index.first_extra) if own & asked[n])
                self._pointers[clause] = own, sum(1 << number for number in rules)

    def of(self, reading: Reading) -> Concerning:
        """The cautions of a part that was matched against the index, each kind in the rulebook's order.

        Certain are those known to apply, and those of the grade that all parts of the description end at,
        as long as no exception is known to hold.
        """
        key = (reading.possible, reading.known)
        found = self._found.get(key)
        if found is None:
            if len(self._found) >= KEPT:
                self._found.clear()
            found = self._found[key] = self._search(reading)
        return found

    def _search(self, reading: Reading) -> Concerning:
        possible, known, sure = reading.possible, reading.known, reading.certain
        if not self._grader.completions.can_be(possible, known):
            return Concerning(self._grader.cautions(reading, None))
        rules = possible & self._index.rule_bits
        holds = rules & sure
        if holds:
            rules &= ((holds & -holds) << 1) - 1  # nothing behind the first rule that holds decides
        ends = self._ends(possible, known, 0)
        certain, may_be = [], []
        for caution, when, unless in self._grader.numbered_cautions:
            if sure & unless:
                continue
            if sure & when or ends <= caution.grades:
                certain.append(caution)
                continue
            avoided = unless & possible
            # The quicker of the two first: to go through all grades without the exceptions takes longest.
            if any(
                self._can_hold(clause, avoided, possible, known)
                for clause in _each(when & possible)
                if self._points_to(clause, rules, known)
            ) or (ends & caution.grades and self._ends(possible, known, avoided) & caution.grades):
                may_be.append(caution)
        return Concerning(tuple(certain), tuple(may_be))

    def _ends(self, possible: int, known: int, without: int) -> set[str | None]:
        """The grades at which some part ends that meets none of `without`; None for no grade."""
        reach = self._grader.completions.reach(possible, known, without)
        rules, first = self._grader.rulebook.rules, self._index.first_rule
        ends: set[str | None] = {rules[number - first].grade for number in reach.rules}
        return ends | {None} if reach.none else ends

    def _points_to(self, clause: int, rules: int, known: int) -> bool:
        asked, by_rules = self._pointers[clause]
        return bool(asked & known or by_rules & rules)

    def _can_hold(self, clause: int, without: int, possible: int, known: int) -> bool:
        """Whether a part that can be meets a clause, given as its bit, and none of `without`."""
        if not possible & clause:
            return False
        if self._index.settled(known) & clause:
            return self._grader.completions.can_be(possible, known, without)
        when = self._index.clauses[clause.bit_length() - 1]
        axis = next(a for c in when if not known & (a := self._index.axes[c.attribute]).bit)
        branches = {possible & mask for mask in axis.masks if mask & clause}
        return any(self._can_hold(clause, without, branch, known | axis.bit) for branch in branches)


def _each(bits: int) -> list[int]:
    found = []
    while bits:
        lowest = bits & -bits
        found.append(lowest)
        bits ^= lowest
    return found
