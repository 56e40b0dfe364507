"""Two versions where a place has limits of its own, and by their own limits, over one set of parts."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence

import z3

from gradewright.core.observations import Attribute
from gradewright.core.rulebook import Rulebook, When
from gradewright.rulebooks.comparer import Comparer, End
from gradewright.rulebooks.sides import together
from gradewright.rulebooks.solving import Formula, Parts, Side, every_when

GRADE, CAN_BE_TOLD = ("grade",), ("grade", "no-grade")
Two = tuple[Rulebook, Rulebook]


class Twice(Comparer):
    """Compares the versions as they are at a place, for what is otherwise there than by their own limits."""

    def __init__(self, there: Two, usual: Two, renamed: Mapping[str, str]) -> None:
        """`there`: the earlier and the later version at the place; `usual`: by their own limits. `renamed`:
        as for `Comparer`."""
        _, *books = together(*usual)
        self._whens = tuple(every_when(*books))
        super().__init__(*there, renamed)
        sides = [Side(self.parts, book, self._describable(book)) for book in books]
        before, after = ({**self._graded(side), **self._ungraded(side)} for side in sides)
        self._usual = before, after
        self.stays = self.parts.define(self.ends_alike(before, after), "stays by the versions' own limits")

    def made(self, attributes: Mapping[str, Attribute], whens: Iterable[When]) -> Parts:
        """Parts that clauses tell apart, those of the versions' own limits too."""
        return super().made(attributes, (*whens, *self._whens))

    def moves_anyway(self) -> list[tuple[End, End]]:
        """Between which ends parts move by the versions' own limits that have a grade by the first."""
        before, after = self._usual
        solver = self.parts.solver(z3.Not(self.stays), _with(self.parts, before, GRADE))
        found = list[tuple[End, End]]()
        while solver.check() == z3.sat:
            model = solver.model()
            came, goes = self.end_of(before, model), self.end_of(after, model)
            solver.add(z3.Not(z3.And(before[came], after[goes])))
            found.append((came, goes))
        return found

    def moved_there(self, anyway: Sequence[tuple[End, End]], *, graded: bool) -> Formula:
        """That a part moves at the place, and by the versions' own limits does not, or none does so;
        `anyway`: the moves by those. `graded`: that it has a grade there by the first version.

        Where parts that have a grade cannot be told any more by the versions' own limits either, so it is at
        every place for some by its limits: then that it still can be told.
        """
        before, after = self.ends[id(self.old)], self.ends[id(self.new)]
        had = self.parts.any_of(formula for end, formula in before.items() if end.grade or not graded)
        known = self.parts.any_of(z3.And(before[came], after[goes]) for came, goes in anyway)
        # What cannot be by the versions' own limits moves as what can be: it is told with that.
        stays = z3.And(self.stays, _with(self.parts, self._usual[0], GRADE))
        moved = z3.And(z3.Not(self.same), had, z3.Or(stays, z3.Not(known)))
        if any(came.grade and goes.answered not in CAN_BE_TOLD for came, goes in anyway):
            return z3.And(moved, _with(self.parts, after, CAN_BE_TOLD))
        return moved


def _with(parts: Parts, ends: Mapping[End, Formula], answered: Collection[str]) -> Formula:
    return parts.any_of(formula for end, formula in ends.items() if end.answered in answered)
