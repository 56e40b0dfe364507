"""What a place's own limits make of a version: parts that lose their answer, rules and grades that come to
nothing, and worked examples that are answered otherwise; each with the smallest part that shows it. The last
are notes, and told as what holds there: a place that draws a line elsewhere often means just that.

By the solver, over all parts, both under the version's own limits and under the place's: what is so anyway is
not told. Takes a second or two of one processor for the version that ships.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import z3

from gradewright.core.grading import Grader
from gradewright.core.house_limits import HouseLimit, under
from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.advice import MOVE_IT_UP
from gradewright.rulebooks.boxes import Answers, Box
from gradewright.rulebooks.check import differing, in_short
from gradewright.rulebooks.effects import Effects, Lost, in_words
from gradewright.rulebooks.given import Writing
from gradewright.rulebooks.proof_order import never_decides
from gradewright.rulebooks.smallest import Smallest
from gradewright.rulebooks.solving import Parts, Side, every_when

MOST_TOLD = 3


def effects(rulebook: Rulebook, limits: Sequence[HouseLimit], *, only_lost: bool = False) -> Effects:
    """What limits make of a version; nothing where it has none of them. `only_lost`: without the notes."""
    here, own = under(rulebook, limits)
    if not own:
        return Effects()
    looking = _Looking(rulebook, here)
    if only_lost:
        return Effects(list(looking.lost()))
    return Effects(list(looking.lost()), [*looking.dead(), *_otherwise(rulebook, here)])


class _Looking:
    """A version under its own limits and under a place's, over one set of parts."""

    def __init__(self, usual: Rulebook, here: Rulebook) -> None:
        self._parts = Parts(usual.attributes, every_when(usual, here))
        self._before, self._after = Side(self._parts, usual), Side(self._parts, here)
        self._was, self._is = Answers(self._before), Answers(self._after)
        self._smallest = Smallest(self._parts)
        self._writing = Writing(self._parts, usual, here)

    def lost(self) -> Iterator[Lost]:
        """By the grade that they have by the version, parts to which no answer is left."""
        before, after, parts = self._before, self._after, self._parts
        graded = z3.And(before.can_be, z3.Not(before.none_decides))
        lost = z3.And(after.none_decides, graded)
        counter = z3.Or(z3.And(after.can_be, z3.Not(after.none_decides)), before.none_decides)
        solver = parts.solver(lost)
        for _ in range(MOST_TOLD):
            if solver.check() == z3.unsat:
                return
            model = solver.model()
            rule = before.deciding(model)
            if rule is None:
                raise AssertionError("a part without a rule")
            grade = before.rulebook.rules[rule].grade
            part = self._smallest.showing(lost, counter, self._around)
            if part is None:  # it takes more observations than the search goes to
                part = self._smallest.within(model, counter)
            yield Lost(grade, self._writing.part(part))
            of_grade = [n for n, each in enumerate(before.rulebook.rules) if each.grade == grade]
            others = z3.Not(parts.any_of(before.decides[n] for n in of_grade))
            solver.add(others)
            lost = z3.And(lost, others)

    def _around(self, cells: Mapping[str, int]) -> Box:
        """The parts that speak against a description for the same reason as one that does."""
        return self._is.alike(cells) if self._is.decided(cells) is not None else self._was.alike(cells)

    def dead(self) -> Iterator[str]:
        """Rules that decide about no part any more, and grades that no part gets any more."""
        usual, book = self._parts.solver(), self._after.rulebook
        dead = set()
        for number, says, part in never_decides(self._after, self._smallest, self._is, lambda done, of: None):
            dead.add(number)
            if usual.check(self._before.decides[number]) == z3.sat:
                told = _not_needed(says)
                yield told if part is None else f"{told} Such a part: {in_words(part)}."
        for slug, grade in book.grades.items():
            rules = [number for number, rule in enumerate(book.rules) if rule.grade == slug]
            if grade.by_name_only or not rules or not dead.issuperset(rules):
                continue
            if usual.check(self._parts.any_of(self._before.decides[number] for number in rules)) == z3.sat:
                yield f"grade {slug}: no part gets it here."


def _not_needed(says: str) -> str:
    """What is wrong with a rule of a version, said of one that a place's limit leaves nothing to do."""
    rule, _, why = says.removesuffix(MOVE_IT_UP).partition(": ")  # the advice is for who writes a version
    return f"{rule} is not needed here: {why.removeprefix('it never decides: ')}"


def _otherwise(usual: Rulebook, here: Rulebook) -> Iterator[str]:
    """That worked examples are answered otherwise, as limits are there for: how many, and one."""
    known = {one.at for one in differing(Grader(usual))}
    found = [one for one in differing(Grader(here)) if one.at not in known]
    if found:
        count = "One of the worked examples has"
        if len(found) > 1:
            count = f"{len(found)} of the worked examples have"
        first = found[0]
        what, by = in_short(first.outcome)
        yield (
            f"{count} another answer here, by its limit: {first.example} is {first.asked} by the rulebook, "
            f"and here {what}{by}."
        )
