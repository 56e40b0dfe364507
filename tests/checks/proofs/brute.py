"""Every fault of a small rulebook, by looking at every part that it can tell from another.

The grid has an axis for each attribute and a place for each part; a clause is the set of places where
`Condition.holds` says so of every condition. No solver and no decision index: what is wrong is counted.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from decimal import Decimal

import numpy as np
import numpy.typing as npt

from gradewright.core.observations import DOMAIN, EARLIEST_YEAR, LATEST_YEAR, Attribute, Kind, Value
from gradewright.core.rulebook import Condition, Example, LargestFirst, Rulebook, ToldOf, When

Places = npt.NDArray[np.bool_]
At = tuple[str | int, ...]


class Grid:
    """A small rulebook, held against all of its parts."""

    def __init__(self, book: Rulebook) -> None:
        self.book = book
        self.names = list(book.attributes)
        self.marks = marks_of(book)
        self.values = values_of(book)
        self.shape = tuple(len(values) for values in self.values.values())
        self.cannot_be = [self.of(entry.when) for entry in book.impossible]
        self.cannot_be += [self.out_of_order(order) for order in book.largest_first]
        self.meets = [self.of(rule.when) for rule in book.rules]
        self.can_be = ~self.any_of(self.cannot_be)
        self.decides: list[Places] = []
        left = self.can_be.copy()
        for meets in self.meets:
            self.decides.append(left & meets)
            left &= ~meets
        self.none_decides = left
        meant = [self.alike(example.part) for example in book.examples if example.ungraded]
        self.holes = left & ~self.any_of(meant)
        self.answered = self.can_be & ~self.holes

    def none(self) -> Places:
        """No part."""
        return np.zeros(self.shape, dtype=bool)

    def any_of(self, many: Iterable[Places]) -> Places:
        """The parts that are in one of many sets."""
        found = self.none()
        for each in many:
            found |= each
        return found

    def within(self, name: str, allowed: Sequence[bool]) -> Places:
        """The parts whose value of an attribute is one of the allowed."""
        places = np.zeros(self.shape, dtype=bool)
        axis = self.names.index(name)
        places[(slice(None),) * axis + (np.asarray(allowed, dtype=bool),)] = True
        return places

    def of(self, when: When) -> Places:
        """The parts that meet a clause."""
        places = np.ones(self.shape, dtype=bool)
        for condition in when:
            places &= self.within(
                condition.attribute, [condition.holds(v) for v in self.values[condition.attribute]]
            )
        return places

    def out_of_order(self, order: LargestFirst) -> Places:
        """The parts of which a measure is more than one before it."""
        return self.any_of(self.of(when) for when in out_of_order(order, self.values))

    def alike(self, part: Mapping[str, Value]) -> Places:
        """The parts that a description fits, no clause telling their values from the told ones."""
        return self.cube({name: [value] for name, value in part.items()})

    def cube(self, cube: Mapping[str, Sequence[Value]]) -> Places:
        """The parts that have one of some values of each of some attributes, or one that is no different."""
        places = np.ones(self.shape, dtype=bool)
        for name, values in cube.items():
            cells = {self._cell(name, value) for value in values}
            places &= self.within(name, [n in cells for n in range(len(self.values[name]))])
        return places

    def _cell(self, name: str, value: Value) -> int:
        """The place of the value that every condition takes for this one."""
        values, marks = self.values[name], self.marks[name]
        if value in values:
            return values.index(value)
        return next(n for n, other in enumerate(values) if rank(marks, other) == rank(marks, value))

    def told_of(self, names: Iterable[str]) -> Places:
        """The parts of which these attributes can be told."""
        places = ~self.none()
        for entry in told_of(self.book, names):
            places &= self.any_of(map(self.of, entry.of))
        return places

    def smallest(self, claim: Places, counter: Places) -> int | None:
        """Of how few observations a description can be that some part of `claim` fits and none of `counter`.

        Every set of attributes is tried with every value of each, by what is left when the others are
        forgotten.
        """
        everything = range(len(self.names))
        for size in range(len(self.names) + 1):
            for told in itertools.combinations(everything, size):
                forgotten = tuple(axis for axis in everything if axis not in told)
                if np.any(claim.any(axis=forgotten) & ~counter.any(axis=forgotten)):
                    return size
        return None

    def after(self, places: Places, changes: Mapping[str, Value | None]) -> Places:
        """The parts that work turns into one of `places`, or that can turn out to be one."""
        if told_out_of_order(self.book, changes):
            return self.none()
        for name, value in changes.items():
            axis = self.names.index(name)
            if value is None:
                places = np.broadcast_to(places.any(axis=axis, keepdims=True), self.shape)
            else:
                taken = places.take([self._cell(name, value)], axis=axis)
                places = np.broadcast_to(taken, self.shape)
        return places

    def ends(self, part: Mapping[str, Value]) -> set[str | None]:
        """The grades of the parts that a description fits and that can be; None: no rule decides."""
        if told_out_of_order(self.book, part):
            return set()
        fits = self.alike(part) & self.told_of(part)
        ends: set[str | None] = {
            rule.grade
            for rule, decides in zip(self.book.rules, self.decides, strict=True)
            if np.any(fits & decides)
        }
        return ends | {None} if np.any(fits & self.none_decides) else ends

    def fails(self, example: Example) -> bool:
        """Whether an example is not answered as it says."""
        ends = self.ends(example.part)
        if example.grade is not None:
            return ends != {example.grade}
        if example.candidates:
            return len(ends) < 2 or ends - {None} != set(example.candidates)
        if example.contradiction is not None:
            return bool(ends) or example.contradiction not in self._contradicting(example.part)
        return ends != {None}

    def _contradicting(self, part: Mapping[str, Value]) -> set[str]:
        """The entries that describe the part; where none does for certain, those that may."""
        fits = self.alike(part)
        clauses = [(entry.id, entry.when) for entry in self.book.impossible]
        for order in self.book.largest_first:
            clauses += [(order.id, when) for when in out_of_order(order, self.values)]
        fitting = [(name, when) for name, when in clauses if np.any(fits & self.of(when))]
        certain = {name for name, when in fitting if {c.attribute for c in when} <= set(part)}
        certain |= told_out_of_order(self.book, part)
        may_be = {name for name, _ in fitting}
        for entry in told_of(self.book, part):
            of_these = self.any_of(map(self.of, entry.of))
            certain |= set() if np.any(fits & of_these) else {entry.id}
            may_be |= {entry.id} if np.any(fits & ~of_these) else set()
        return certain or may_be


def clauses_of(book: Rulebook) -> Iterator[tuple[At, When, bool]]:
    """Every clause with where it stands, and whether it is only about parts that can be."""
    for n, entry in enumerate(book.impossible):
        yield ("impossible", n, "when"), entry.when, False
    for n, told in enumerate(book.told_of):
        yield from ((("told_of", n, "of", place), when, True) for place, when in enumerate(told.of))
    for n, rule in enumerate(book.rules):
        yield ("rules", n, "when"), rule.when, True
    for slug, preparation in book.preparations.items():
        yield ("preparations", slug, "when"), preparation.when, True
        for n, when in enumerate(preparation.unless):
            yield ("preparations", slug, "unless", n), when, True
    for slug, caution in book.cautions.items():
        for n, when in enumerate(caution.when):
            yield ("cautions", slug, "when", n), when, True
        for n, when in enumerate(caution.unless):
            yield ("cautions", slug, "unless", n), when, True


def attributes_told(book: Rulebook) -> Iterator[tuple[At, str, Sequence[When]]]:
    """What is told of some things only, with where that stands, and these."""
    for n, entry in enumerate(book.told_of):
        yield from (
            (("told_of", n, "attributes", i), name, entry.of) for i, name in enumerate(entry.attributes)
        )


def out_of_order(order: LargestFirst, values: Mapping[str, Sequence[Value]]) -> Iterator[When]:
    """Of values that stand for all, those of two measures of which the smaller is more than the larger."""
    for larger, smaller in itertools.combinations(order.measures, 2):
        for value in values[larger]:
            more = tuple(other for other in values[smaller] if other > value)  # type: ignore[operator]
            if more:
                yield Condition(larger, (value,)), Condition(smaller, more)


def told_out_of_order(book: Rulebook, told: Mapping[str, Value | None]) -> set[str]:
    """The orders of which two measures are told out of it, whether or not a clause parts their values."""
    return {
        order.id
        for order in book.largest_first
        for larger, smaller in itertools.combinations(order.measures, 2)
        if (least := told.get(larger)) is not None
        and (most := told.get(smaller)) is not None
        and most > least  # type: ignore[operator]
    }


def told_of(book: Rulebook, names: Iterable[str]) -> list[ToldOf]:
    """What says that one of these attributes can be told of some things only."""
    told = set(names)
    return [entry for entry in book.told_of if not told.isdisjoint(entry.attributes)]


def marks_of(book: Rulebook) -> dict[str, set[Value]]:
    """For each attribute the values that some clause names."""
    asked = [condition for _, when, _ in clauses_of(book) for condition in when]
    marks = {name: set(_marks(c for c in asked if c.attribute == name)) for name in book.attributes}
    for order in book.largest_first:
        # What parts one of them parts the others: they are held against each other.
        together = set().union(*(marks[measure] for measure in order.measures))
        marks.update({measure: set(together) for measure in order.measures})
    return marks


def values_of(book: Rulebook) -> dict[str, list[Value]]:
    """For each attribute the values that a rulebook can tell from another."""
    marks = marks_of(book)
    return {name: distinguishable(a, marks[name]) for name, a in book.attributes.items()}


def distinguishable(attribute: Attribute, marks: set[Value]) -> list[Value]:
    """A value of every kind that some condition could tell from another, the ends of what is possible too."""
    if attribute.kind is Kind.CHOICE:
        return list(attribute.choices)
    if attribute.kind is Kind.YES_NO:
        return [False, True]
    candidates: list[Value] = []
    if attribute.kind in DOMAIN:
        candidates += _measures(attribute.kind, [v for v in marks if isinstance(v, Decimal)])
    elif attribute.kind is Kind.YEAR:
        candidates += _numbers(EARLIEST_YEAR, LATEST_YEAR, [v for v in marks if isinstance(v, int)])
    else:
        days = [v.toordinal() for v in marks if isinstance(v, date)]
        candidates += map(date.fromordinal, _numbers(date.min.toordinal(), date.max.toordinal(), days))
    kept: dict[tuple[int, bool], Value] = {}
    for value in candidates:
        kept.setdefault(rank(marks, value), value)
    return [kept[each] for each in sorted(kept)]


def rank(marks: set[Value], value: Value) -> tuple[int, bool]:
    """Where a value stands among marks: values of one rank are the same to every condition."""
    return sum(mark < value for mark in marks), value in marks  # type: ignore[operator]


def _numbers(first: int, last: int, marks: list[int]) -> list[int]:
    near = {first, last, *(n for mark in marks for n in (mark - 1, mark, mark + 1))}
    return sorted(n for n in near if first <= n <= last)


def _measures(kind: Kind, marks: list[Decimal]) -> list[Decimal]:
    lowest, lowest_too, highest = DOMAIN[kind]
    ends = sorted({lowest, *marks, *([] if highest is None else [highest])})
    between = [(one + other) / 2 for one, other in itertools.pairwise(ends)]
    return [
        value
        for value in sorted({*ends, *between, ends[-1] + 1})
        if (value > lowest or (value == lowest and lowest_too)) and (highest is None or value <= highest)
    ]


def _marks(conditions: Iterable[Condition]) -> Iterator[Value]:
    for condition in conditions:
        yield from condition.values
        for end in (condition.at_least, condition.above, condition.at_most, condition.below):
            if end is not None:
                yield end.value
