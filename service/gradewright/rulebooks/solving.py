"""Rulebooks as formulas over all parts that can be described, for the solver (Z3) to reason about.

Independent of the decision index: a measure is a real number, a day and a year are whole numbers, and a
condition is what the document says of them. Every attribute of a part is known here; what an answer to a
partial description is follows, as it is the answer to all of its completions.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from contextvars import ContextVar
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

import z3

from gradewright.core.decision import Axis
from gradewright.core.in_order import in_order
from gradewright.core.observations import DOMAIN, EARLIEST_YEAR, LATEST_YEAR, Attribute, Kind, Value
from gradewright.core.rulebook import Bound, Condition, LargestFirst, Rulebook, When

Formula = Any  # what Z3 gives has no types of use
Part = dict[str, Value]
Written = str | bool | int
"""A value as a document writes it."""
ENDS = ("at_least", "above", "at_most", "below")
BETWEEN: ContextVar[Callable[[], None]] = ContextVar("between_questions", default=lambda: None)
"""What is done before each question to a solver: work that takes minutes waits for others there, or ends."""


class Solver(z3.Solver):  # type: ignore[misc]  # it has no types
    """A solver of a logic that stops for what is to be done between two questions."""

    def __init__(self, logic: str, context: Formula) -> None:
        made = z3.Z3_mk_solver_for_logic(context.ref(), z3.to_symbol(logic, context))
        super().__init__(made, context)

    def check(self, *assumptions: Formula) -> Formula:
        """Whether all can be together."""
        BETWEEN.get()()
        return super().check(*assumptions)


class Parts:
    """The parts that attributes can describe. One solver context each, so that threads do not meet."""

    def __init__(self, attributes: Mapping[str, Attribute], whens: Iterable[When]) -> None:
        """`whens`: every clause that will be asked about; its cut points part the measures into cells."""
        self.whens = tuple(whens)
        self.context = z3.Context()
        self.attributes = attributes
        self.axes = _axes(attributes, self.whens)
        self._numbers = {name: {c: n for n, c in enumerate(a.choices)} for name, a in attributes.items()}
        self._variables = {name: self._variable(attribute) for name, attribute in attributes.items()}
        self.definitions: list[Formula] = [
            formula
            for name, attribute in attributes.items()
            for formula in self.domain(attribute, self._variables[name])
        ]

    def define(self, formula: Formula, name: str) -> Formula:
        """A letter for a formula: solvers take letters as assumptions, and tell which of them clash."""
        letter = z3.FreshBool(name, self.context)
        self.definitions.append(letter == formula)
        return letter

    def fresh(self, name: str) -> Formula:
        """A letter that stands for nothing yet."""
        return z3.FreshBool(name, self.context)

    def solver(self, *formulas: Formula) -> Formula:
        """A solver that knows all definitions made so far."""
        solver = Solver("QF_LIRA", self.context)
        solver.add(*self.definitions, *formulas)
        return solver

    def all_of(self, formulas: Iterable[Formula]) -> Formula:
        """All of some formulas; true of none."""
        return self._joined(z3.Z3_mk_and, z3.BoolVal(True, self.context), formulas)

    def any_of(self, formulas: Iterable[Formula]) -> Formula:
        """One or more of some formulas; false of none."""
        return self._joined(z3.Z3_mk_or, z3.BoolVal(False, self.context), formulas)

    def _joined(self, join: Callable[..., Any], neutral: Formula, formulas: Iterable[Formula]) -> Formula:
        """Formulas in one. As `z3.And` and `z3.Or` have it, which look at the kind of each over and again."""
        every = [neutral, *formulas]  # kept until they are joined: the solver forgets what nobody has
        places = (z3.Ast * len(every))(*(formula.as_ast() for formula in every))
        found = join(self.context.ref(), len(every), places)
        return z3.BoolRef(found, self.context)

    def when(self, when: When) -> Formula:
        """That every condition of a clause holds."""
        return self.all_of(self.condition(condition) for condition in when)

    def condition(self, condition: Condition) -> Formula:
        """That one condition holds."""
        if condition.values:
            return self.any_of(self.has(condition.attribute, value) for value in condition.values)
        variable = self._variables[condition.attribute]
        at_least, above, at_most, below = (getattr(condition, end) for end in ENDS)
        formulas = []
        if at_least is not None:
            formulas.append(variable >= self.line(condition.attribute, at_least))
        if above is not None:
            formulas.append(variable > self.line(condition.attribute, above))
        if at_most is not None:
            formulas.append(variable <= self.line(condition.attribute, at_most))
        if below is not None:
            formulas.append(variable < self.line(condition.attribute, below))
        return self.all_of(formulas)

    def line(self, name: str, bound: Bound) -> Formula:
        """The number that a bound on an attribute is."""
        return self.number(bound.value)

    def out_of_order(self, orders: Sequence[LargestFirst], number: int) -> Formula:
        """That of one of some orders a measure is more than one before it, as far as clauses can tell: values
        that none can tell apart stand for each other.
        """
        clauses = in_order(orders, self.whens)
        return self.any_of(self.when(when) for order, when in clauses if order is orders[number])

    def variable(self, name: str) -> Formula:
        """What stands for the value that a part has of an attribute."""
        return self._variables[name]

    def has(self, name: str, value: Value) -> Formula:
        """That a part has this value of an attribute; false where the attribute has no such value."""
        variable = self._variables[name]
        if self.attributes[name].kind is Kind.CHOICE:
            number = self._numbers[name].get(str(value))
            return z3.BoolVal(False, self.context) if number is None else variable == number
        if self.attributes[name].kind is Kind.YES_NO:
            return variable if value else z3.Not(variable)
        return variable == self.number(value)

    def within(self, name: str, value: Value) -> Formula:
        """That a part's value is in the same cell: no clause can tell the two apart."""
        axis = self.axes[name]
        if axis.by_value is not None or self.attributes[name].kind in (Kind.CHOICE, Kind.YES_NO):
            return self.has(name, value)
        variable, cuts = self._variables[name], axis.cuts
        if value in cuts:
            return variable == self.number(value)
        below = [cut for cut in cuts if cut < value]  # type: ignore[operator]
        above = [cut for cut in cuts if cut > value]  # type: ignore[operator]
        return self.all_of(
            [
                *(variable > self.number(cut) for cut in below[-1:]),
                *(variable < self.number(cut) for cut in above[:1]),
            ]
        )

    def one_of(self, cube: Mapping[str, Iterable[Value]]) -> Formula:
        """That of each of some attributes a part has one of some values, or one that is no different."""
        return self.all_of(
            self.any_of(self.within(name, value) for value in values) for name, values in cube.items()
        )

    def read(self, model: Formula) -> dict[str, int]:
        """The part that a model is: for every attribute the number of its cell."""
        return {name: self._cell(name, model) for name in self.attributes}

    def cell(self, name: str, value: Value) -> int:
        """The number of the cell in which a value lies."""
        axis = self.axes[name]
        return axis.cells.index(value) if value in axis.cells else axis.cell_of(value)

    def value(self, name: str, cell: int) -> Value:
        """The value that stands for a cell."""
        return self.axes[name].cells[cell]

    def after(self, formula: Formula, changes: Mapping[str, Value | None]) -> Formula:
        """A formula of the part that a part is turned into; None: the attribute may have any value then."""
        pairs = []
        for name, value in changes.items():
            variable = self._variables[name]
            fresh = z3.FreshConst(variable.sort(), name)
            pairs.append((variable, fresh))
            if value is None:
                self.definitions += self.domain(self.attributes[name], fresh)
            else:
                self.definitions.append(z3.substitute(self.has(name, value), (variable, fresh)))
        return z3.substitute(formula, *pairs)

    def _variable(self, attribute: Attribute) -> Formula:
        if attribute.kind is Kind.YES_NO:
            return z3.Bool(attribute.name, self.context)
        if attribute.kind in DOMAIN:
            return z3.Real(attribute.name, self.context)
        return z3.Int(attribute.name, self.context)

    def domain(self, attribute: Attribute, variable: Formula) -> list[Formula]:
        """That a value is one that an attribute may have."""
        if attribute.kind is Kind.YES_NO:
            return []
        if attribute.kind in DOMAIN:
            lowest, inclusive, highest = DOMAIN[attribute.kind]
            least = self.number(lowest)
            bounds = [variable >= least if inclusive else variable > least]
            return bounds if highest is None else [*bounds, variable <= self.number(highest)]
        first, last = {
            Kind.CHOICE: (0, len(attribute.choices) - 1),
            Kind.YEAR: (EARLIEST_YEAR, LATEST_YEAR),
            Kind.DATE: (date.min.toordinal(), date.max.toordinal()),
        }[attribute.kind]
        return [variable >= first, variable <= last]

    def number(self, value: Value) -> Formula:
        """A measure, a year or a day as the solver counts."""
        if isinstance(value, Decimal):
            over, under = value.as_integer_ratio()
            return z3.Q(over, under, self.context)
        whole = value.toordinal() if isinstance(value, date) else int(value)
        return z3.IntVal(whole, self.context)

    def _cell(self, name: str, model: Formula) -> int:
        kind, found = self.attributes[name].kind, model.eval(self._variables[name], model_completion=True)
        if kind is Kind.YES_NO:
            return int(z3.is_true(found))
        if kind is Kind.CHOICE:
            return int(found.as_long())
        axis = self.axes[name]
        if kind is Kind.YEAR:
            return axis.cell_of(int(found.as_long()))
        if kind is Kind.DATE:
            return axis.cell_of(date.fromordinal(int(found.as_long())))
        return _cell_of_ratio(axis, Fraction(found.numerator_as_long(), found.denominator_as_long()))


class Side:
    """One version as formulas over parts: what it holds for impossible, and which rule decides."""

    def __init__(self, parts: Parts, rulebook: Rulebook, describable: Formula | None = None) -> None:
        """`describable`: that the version has words for the part; of parts of its own attributes it has."""
        self.rulebook = rulebook
        self.parts = parts
        self.impossible = [
            parts.define(parts.when(e.when), f"impossible {e.id}") for e in rulebook.impossible
        ] + [
            parts.define(parts.out_of_order(rulebook.largest_first, number), f"impossible {order.id}")
            for number, order in enumerate(rulebook.largest_first)
        ]
        self.impossible_ids = [entry.id for entry in rulebook.impossible]
        self.impossible_ids += [order.id for order in rulebook.largest_first]
        self.meets = [parts.define(parts.when(rule.when), f"rule {rule.id}") for rule in rulebook.rules]
        self.describable = parts.all_of([]) if describable is None else describable
        self.can_be = parts.define(z3.And(self.describable, z3.Not(parts.any_of(self.impossible))), "can be")
        self.decides: list[Formula] = []
        before = z3.BoolVal(False, parts.context)
        for rule, meets in zip(rulebook.rules, self.meets, strict=True):
            self.decides.append(
                parts.define(z3.And(self.can_be, meets, z3.Not(before)), f"{rule.id} decides")
            )
            before = parts.define(z3.Or(before, meets), f"by {rule.id}")
        self.none_decides = parts.define(z3.And(self.can_be, z3.Not(before)), "no rule decides")

    def by(self, number: int | None) -> Formula:
        """That a rule decides about a part; None: that none does."""
        return z3.Not(self.parts.any_of(self.decides)) if number is None else self.decides[number]

    def deciding(self, model: Formula) -> int | None:
        """The number of the rule that decides about the part that a model is."""
        for number, decides in enumerate(self.decides):
            if z3.is_true(model.eval(decides, model_completion=True)):
                return number
        return None


def as_written(attributes: Mapping[str, Attribute], part: Mapping[str, Value]) -> dict[str, Written]:
    """A description as an example in a document writes it."""
    return {
        name: value if isinstance(value, (bool, int)) else attributes[name].show(value)
        for name, value in part.items()
    }


def every_when(*rulebooks: Rulebook) -> Iterable[When]:
    """All clauses of versions, and what the order of measures rules out at their values."""
    whens = [when for rulebook in rulebooks for when in _written(rulebook)]
    yield from whens
    for rulebook in rulebooks:
        yield from (when for _, when in in_order(rulebook.largest_first, whens))


def _written(rulebook: Rulebook) -> Iterable[When]:
    yield from (entry.when for entry in rulebook.impossible)
    yield from (rule.when for rule in rulebook.rules)
    for preparation in rulebook.preparations.values():
        yield from (preparation.when, *preparation.unless)
    for caution in rulebook.cautions.values():
        yield from (*caution.when, *caution.unless)


def _axes(attributes: Mapping[str, Attribute], whens: Iterable[When]) -> dict[str, Axis]:
    asked: dict[str, list[Condition]] = {name: [] for name in attributes}
    for when in whens:
        for condition in when:
            asked[condition.attribute].append(condition)
    return {name: Axis(attribute, 1, asked[name]) for name, attribute in attributes.items()}


def _cell_of_ratio(axis: Axis, ratio: Fraction) -> int:
    """The cell of a number that may have no end in decimals."""
    cuts = [Fraction(cut) for cut in axis.cuts if isinstance(cut, Decimal)]
    below = sum(cut < ratio for cut in cuts)
    place = axis.place[2 * below + (below < len(cuts) and cuts[below] == ratio)]
    if place is None:
        raise AssertionError(f"no {axis.attribute.name} is {ratio}")
    return place
