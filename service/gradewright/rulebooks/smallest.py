"""The smallest description that shows something: of as few observations as any.

A description shows a claim about parts if some part that fits it meets the claim, and no part that fits it
is a counterexample. Found by two solvers in turn: one proposes a description of so many observations, the
other looks for a counterexample that fits it; all that are alike (`boxes`) are then kept out of what the
first proposes. When it has nothing left to propose, one more observation is allowed.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from types import MappingProxyType

import z3

from gradewright.core.observations import Value
from gradewright.rulebooks.boxes import Box
from gradewright.rulebooks.solving import Formula, Part, Parts, Solver

NOTHING: Mapping[str, Sequence[Value]] = MappingProxyType({})
Around = Callable[[Mapping[str, int]], Box]
"""For a counterexample the box of those that are alike: every part in it is a counterexample too."""
Told = tuple[str, int]
"""An attribute, and the cell in which its value lies."""


class Smallest:
    """Looks for descriptions over one set of parts; what it needs in the solver is defined once."""

    def __init__(self, parts: Parts) -> None:
        self.parts = parts
        self._place = {name: place for place, name in enumerate(parts.attributes)}
        self._seen: dict[Told, Formula] = {
            (name, cell): parts.define(parts.has(name, value), f"{name} {cell}")
            for name, axis in parts.axes.items()
            for cell, value in enumerate(axis.cells)
        }
        self._told = {key: z3.FreshBool(f"told {key[0]}", parts.context) for key in self._seen}
        self._of_letter = {letter.get_id(): key for key, letter in self._seen.items()}
        self._letters = [(key, told.decl().ast) for key, told in self._told.items()]
        self._against, self._known = parts.solver(), len(parts.definitions)

    def showing(
        self,
        claim: Formula,
        counter: Formula,
        around: Around,
        *,
        rather: Collection[str] = (),
        known: Iterable[Formula] = (),
        most: int = 12,
    ) -> Part | None:
        """A description of the fewest observations; None if there is none of at most so many.

        `claim`: what some part that fits it has to meet; `counter`: what no part that fits it may. `rather`:
        of several as small one of these attributes alone. `known`: what other searches have learned
        (`outside`) of parts that are counterexamples here too.
        """
        search = _Search(self, claim, counter, around)
        search.learn(known)
        found = search.smallest(most, self.none_but(rather))
        if found is None:
            return None
        found.sort(key=lambda told: self._place[told[0]])
        return {name: self.parts.value(name, cell) for name, cell in found}

    def within(self, model: Formula, counter: Formula) -> Part:
        """A description of the part that a model is, which no counterexample fits; nothing in it can be
        spared, but another one may be smaller."""
        cells, defined = self.parts.read(model), self.parts.definitions
        # One solver for all of them: to tell a new one all definitions takes longer than its answer.
        self._against.add(*defined[self._known :])
        self._known = len(defined)
        self._against.push()
        self._against.add(counter)
        names = reasons(self, self._against, cells)
        self._against.pop()
        return {name: self.parts.value(name, cells[name]) for name in self.parts.attributes if name in names}

    def widened(
        self, part: Part, claim: Formula, counter: Formula, fixed: Mapping[str, Sequence[Value]] = NOTHING
    ) -> dict[str, list[Value]]:
        """For each attribute of a description the values that may stand there.

        Each one of them does if the rest stays as it is; no combination of them fits a counterexample,
        though there may be no part that one fits. `fixed`: what is described besides, and stays as it is.
        """
        shown, against = self.parts.solver(claim), self.parts.solver(counter)
        alone = {name: [value] for name, value in part.items()}
        cube = dict(alone)
        for name in part:
            for value in self.parts.axes[name].cells:
                more = {**fixed, **cube, name: [value]}
                if value in cube[name] or _some(against, self.parts.one_of(more)):
                    continue
                if _some(shown, self.parts.one_of({**fixed, **alone, name: [value]})):
                    cube[name] = [*cube[name], value]
        return cube

    def proposing(self) -> Formula:
        """A solver for descriptions: of every attribute at most one value is told."""
        solver = Solver("QF_FD", self.parts.context)
        for name in self.parts.attributes:
            solver.add(z3.AtMost(*(told for key, told in self._told.items() if key[0] == name), 1))
        return solver

    def at_most(self, size: int) -> Formula:
        """That a description has at most so many observations."""
        return z3.AtMost(*self._told.values(), size)

    def none_but(self, names: Collection[str]) -> Formula:
        """That a description tells nothing but these attributes."""
        others = (told for key, told in self._told.items() if key[0] not in names)
        return z3.Not(self.parts.any_of(others))

    def chosen(self, model: Formula) -> list[Told]:
        """What a proposed description tells."""
        # Asked of the solver's own functions: a model has hundreds of letters, and is read hundreds of times.
        reference, found = self.parts.context.ref(), []
        for key, letter in self._letters:
            value = z3.Z3_model_get_const_interp(reference, model.model, letter)
            if value is not None and z3.Z3_get_bool_value(reference, value) == z3.Z3_L_TRUE:
                found.append(key)
        return found

    def seen(self, told: Iterable[Told]) -> list[Formula]:
        """What is told, as formulas about a part."""
        return [self._seen[key] for key in told]

    def clashing(self, solver: Formula) -> list[Told]:
        """Which of the observations that were assumed cannot be together, after the solver said so."""
        return [self._of_letter[letter.get_id()] for letter in solver.unsat_core()]

    def not_all(self, told: Sequence[Told]) -> Formula:
        """That a description does not tell all of this."""
        return z3.Not(self.parts.all_of(self._told[key] for key in told))

    def outside(self, box: Box) -> Formula:
        """That a description tells, of one of the attributes, a value that is not in a box."""
        return self.parts.any_of(
            self._told[name, cell]
            for name, cells in box.items()
            for cell in range(len(self.parts.axes[name].cells))
            if cell not in cells
        )


class _Search:
    """One search, with what it has learned."""

    def __init__(self, smallest: Smallest, claim: Formula, counter: Formula, around: Around) -> None:
        self._of, self._parts, self._around = smallest, smallest.parts, around
        self._shown, self._against = self._parts.solver(claim), self._parts.solver(counter)
        self._proposing = smallest.proposing()

    def learn(self, lessons: Iterable[Formula]) -> None:
        """Keeps to what is known already."""
        self._proposing.add(*lessons)

    def smallest(self, most: int, rather: Formula) -> list[Told] | None:
        preferred = self._letter(rather)
        for size in range(most + 1):
            of_size = self._letter(self._of.at_most(size))
            found = self._proposed([of_size, preferred]) or self._proposed([of_size])
            if found is not None:
                return found
        return None

    def _proposed(self, assumed: list[Formula]) -> list[Told] | None:
        """A description that shows the claim; None where there is none under what is assumed."""
        while self._proposing.check(assumed) == z3.sat:
            chosen = self._of.chosen(self._proposing.model())
            lesson = self._lesson(chosen)
            if lesson is None:
                return chosen
            self._proposing.add(lesson)
        return None

    def _letter(self, formula: Formula) -> Formula:
        """A letter that, assumed, makes the proposals meet a formula."""
        letter = self._parts.fresh("assumed")
        self._proposing.add(z3.Implies(letter, formula))
        return letter

    def _lesson(self, chosen: list[Told]) -> Formula | None:
        """What is wrong with a description, and with all like it; None if it shows the claim."""
        seen = self._of.seen(chosen)
        if self._shown.check(seen) == z3.unsat:
            return self._of.not_all(self._of.clashing(self._shown))
        if self._against.check(seen) == z3.unsat:
            return None
        return self._of.outside(self._around(self._parts.read(self._against.model())))


def reasons(of: Smallest, against: Formula, cells: Mapping[str, int]) -> list[str]:
    """The attributes of a part whose values alone keep it from fitting `against`; none can be spared."""
    if against.check(of.seen(cells.items())) != z3.unsat:
        raise AssertionError("the part fits it")
    needed = [name for name, _ in of.clashing(against)]
    for name in list(needed):
        fewer = [(other, cells[other]) for other in needed if other != name]
        if len(fewer) < len(needed) and against.check(of.seen(fewer)) == z3.unsat:
            needed = [other for other, _ in of.clashing(against)]
    return needed


def _some(solver: Formula, formula: Formula) -> bool:
    solver.push()
    solver.add(formula)
    found = solver.check() == z3.sat
    solver.pop()
    return bool(found)
