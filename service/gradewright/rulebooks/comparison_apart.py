"""Two versions over parts whose measures are held against each other as they are.

Elsewhere values that no clause tells apart stand for each other, as an answer is the same for all of them. Of
two measures between the same two cut points it is not: the wider is out of order with the longer, or not. So
here an order is what it says of real numbers, and what shows a move has values that differ where it matters.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import combinations

import z3

from gradewright.core.observations import DOMAIN
from gradewright.core.rulebook import LargestFirst
from gradewright.rulebooks.comparer import Comparer, End, Move, Shown
from gradewright.rulebooks.comparison_words import ranges, sentence
from gradewright.rulebooks.given import beside
from gradewright.rulebooks.solving import Formula, Parts, Written


class ExactParts(Parts):
    """Parts of which one measure may be more than another that no clause tells from it."""

    def out_of_order(self, orders: Sequence[LargestFirst], number: int) -> Formula:
        """That of one of some orders a measure is more than one before it."""
        pairs = combinations(orders[number].measures, 2)
        return self.any_of(self.variable(smaller) > self.variable(larger) for larger, smaller in pairs)

    def parted_out_of_order(self, orders: Sequence[LargestFirst], number: int) -> Formula:
        """The same where a clause tells the two apart."""
        return super().out_of_order(orders, number)


class Apart(Comparer):
    """Both versions over such parts."""

    parts: ExactParts
    parts_of = ExactParts

    def shown(self, came: End, goes: End, both: Formula, model: Formula) -> Move:
        """A move with one part that shows it, of which nothing can be spared."""
        cells = self.smallest.seen(self.parts.read(model).items())
        if self.parts.solver(both).check(*cells) == z3.sat:
            return super().shown(came, goes, both, model)
        names = self._needed(self._exactly(model), self.counter(came, goes))
        apart = dict(self._written_apart(names, model))
        part = {name: self.parts.value(name, cell) for name, cell in self.parts.read(model).items()}
        along = {name: [part[name]] for name in names if name not in apart}
        told = ranges(self.parts.axes, self.attributes, along, self.writing.given)
        words = {name: apart.get(name) or told[name] for name in names}
        written: dict[str, Written] = {**self.writing.part({name: part[name] for name in names}), **apart}
        says = sentence(self.old_book, self.new_book, came, goes, words)
        return self.one_way(came, goes, both, model, Shown(written, words, says))

    def _exactly(self, model: Formula) -> dict[str, Formula]:
        """For each attribute that a part has the value that it has in a model."""
        found = {}
        for name, cell in self.parts.read(model).items():
            variable = self.parts.variable(name)
            found[name] = (
                variable == model.eval(variable, model_completion=True)
                if self.attributes[name].kind in DOMAIN
                else self.parts.has(name, self.parts.value(name, cell))
            )
        return found

    def _needed(self, told: Mapping[str, Formula], counter: Formula) -> list[str]:
        """The attributes whose values alone keep a part from fitting `counter`; none can be spared."""
        solver, letters = self.parts.solver(counter), {name: self.parts.fresh(name) for name in told}
        for name, formula in told.items():
            solver.add(z3.Implies(letters[name], formula))
        needed = list(told)
        for name in told:
            fewer = [letters[other] for other in needed if other != name]
            if name in needed and solver.check(*fewer) == z3.unsat:
                core = {each.get_id() for each in solver.unsat_core()}
                needed = [other for other in needed if letters[other].get_id() in core]
        return needed

    def _written_apart(self, names: Sequence[str], model: Formula) -> Iterator[tuple[str, str]]:
        """The measures that lie between the same two cut points as another one, in values that differ as
        theirs do."""
        among: dict[tuple[object, ...], dict[str, Fraction]] = {}
        for name in names:
            axis = self.parts.axes[name]
            value = self.parts.value(name, self.parts.read(model)[name])
            if axis.attribute.kind in DOMAIN and value not in axis.cuts:
                exact = model.eval(self.parts.variable(name), model_completion=True)
                between = (axis.attribute.kind, *beside(axis.cuts, value))
                among.setdefault(between, {})[name] = exact.as_fraction()
        for values in among.values():
            ranks, first = sorted({*values.values()}), next(iter(values))
            if len(ranks) > 1:
                value = self.parts.value(first, self.parts.read(model)[first])
                texts = self.writing.apart(first, value, len(ranks))
                yield from ((name, texts[ranks.index(exact)]) for name, exact in values.items())
