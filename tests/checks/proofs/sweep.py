"""Every part that a rulebook of any size can tell from another, gone through with alike ones as one.

No solver and no decision index: what a clause says of a value is asked of `Condition.holds`.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from difflib import SequenceMatcher

from tests.checks.proofs.brute import marks_of, out_of_order, rank, told_of, told_out_of_order, values_of
from tests.checks.proofs.walk import Cube, Never, Walk

from gradewright.core.observations import Value
from gradewright.core.rulebook import Example, LargestFirst, Rulebook, When

Clause = tuple[When, str, str]
"""What a part meets, the grade that it gets then, or that there is no such part."""
AFTER = " after"
"""Behind the name of an attribute that work leaves to be looked at afresh."""


class Sweep:
    """A rulebook of any size, held against all of its parts."""

    def __init__(self, book: Rulebook, *, beside: Rulebook | None = None) -> None:
        """`beside`: another rulebook over the same attributes, whose clauses part their values too."""
        self.book = book
        asked = book
        if beside is not None:
            asked = replace(
                book,
                rules=(*book.rules, *beside.rules),
                impossible=(*book.impossible, *beside.impossible),
                largest_first=(*book.largest_first, *beside.largest_first),
            )
        self._marks, self.values = marks_of(asked), values_of(asked)
        self.entries = [
            *((entry.id, Never([self.cube(entry.when)])) for entry in book.impossible),
            *((order.id, _out_of(order)) for order in book.largest_first),
        ]
        self.cannot_be = sum((never for _, never in self.entries), Never())
        self.meets = [self.cube(rule.when) for rule in book.rules]
        self._of_one_grade = [
            sum(1 << n for n, other in enumerate(book.rules) if other.grade == rule.grade)
            for rule in book.rules
        ]
        self.meant = [self.alike(example.part) for example in book.examples if example.ungraded]

    def cube(self, when: When) -> Cube:
        """The parts that meet a clause."""
        return {
            c.attribute: frozenset(n for n, value in enumerate(self.values[c.attribute]) if c.holds(value))
            for c in when
        }

    def alike(self, part: Mapping[str, Value]) -> Cube:
        """The parts that a description fits, no clause telling their values from the told ones."""
        return {name: frozenset([self._place(name, value)]) for name, value in part.items()}

    def one_of(self, values: Mapping[str, Sequence[Value]]) -> Cube:
        """The parts that have one of some values of each of some attributes, or one that is no different."""
        return {name: frozenset(self._place(name, v) for v in each) for name, each in values.items()}

    def _place(self, name: str, value: Value) -> int:
        values, marks = self.values[name], self._marks[name]
        if value in values:
            return values.index(value)
        return next(n for n, other in enumerate(values) if rank(marks, other) == rank(marks, value))

    def first_met(self, cubes: Sequence[Cube], within: Cube, never: Never | None = None) -> set[int | None]:
        """Which of the cubes parts meet first, None for those that meet none.

        Of the parts within a cube that are none of `never` (what cannot be, if that is not given).
        """
        return set(self._walk(cubes, within, never).ends())

    def some(self, within: Cube, never: Never | None = None) -> bool:
        """Whether there is a part within a cube that is none of `never` (what cannot be)."""
        return any(True for _ in self._walk([], within, never).ends())

    def _walk(self, cubes: Sequence[Cube], within: Cube, never: Never | None = None) -> Walk:
        return Walk(self.cannot_be if never is None else never, cubes, within, self.of)

    def ends(self, part: Mapping[str, Value]) -> set[str | None]:
        """The grades of the parts that a description fits and that can be; None: no rule decides."""
        if told_out_of_order(self.book, part):
            return set()
        return {
            None if number is None else self.book.rules[number].grade
            for cube in self.told_of(self.alike(part))
            for number in self._walk(self.meets, cube).ends(self._of_one_grade)
        }

    def told_of(self, cube: Cube) -> Iterator[Cube]:
        """The parts within a cube of which its attributes can be told."""
        asked = [[self.cube(when) for when in entry.of] for entry in told_of(self.book, cube)]
        for of in itertools.product(*asked):
            shared: Cube | None = cube
            for each in of:
                shared = None if shared is None else both(shared, each)
            if shared is not None:
                yield shared

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
        fitting = [(name, cube) for name, when in clauses if both(fits, cube := self.cube(when)) is not None]
        certain = {name for name, cube in fitting if set(cube) <= set(part)}
        certain |= told_out_of_order(self.book, part)
        may_be = {name for name, _ in fitting}
        for entry in told_of(self.book, part):
            of_these = [self.cube(when) for when in entry.of]
            certain |= set() if any(both(fits, cube) is not None for cube in of_these) else {entry.id}
            may_be |= {entry.id} if self.some(fits, Never(of_these)) else set()
        return certain or may_be

    def after(self, changes: Mapping[str, Value | None]) -> Never:
        """The parts of which work makes what cannot be; what it leaves open has a name of its own."""
        if told_out_of_order(self.book, changes):
            return Never([{}])
        fixed = {name: self._place(name, value) for name, value in changes.items() if value is not None}
        named = {name: name + AFTER * (name in changes) for name in self.values}
        held = [pair for pair in self.cannot_be.pairs if not fixed.keys().isdisjoint(pair)]
        cubes = [*self.cannot_be.cubes, *(cube for pair in held for cube in self._out_of_order(*pair))]
        return Never(
            [
                {named[name]: at for name, at in cube.items() if name not in fixed}
                for cube in cubes
                if all(place in cube.get(name, (place,)) for name, place in fixed.items())
            ],
            [(named[one], named[other]) for one, other in self.cannot_be.pairs if (one, other) not in held],
        )

    def _out_of_order(self, larger: str, smaller: str) -> Iterator[Cube]:
        for place, value in enumerate(self.values[larger]):
            more = frozenset(n for n, v in enumerate(self.values[smaller]) if v > value)  # type: ignore[operator]
            if more:
                yield {larger: frozenset([place]), smaller: more}

    def overlaps(self) -> Iterator[tuple[int, int]]:
        """The pairs of rules of different grades of which some part meets both, and no rule before them."""
        for first, second in itertools.combinations(range(len(self.meets)), 2):
            if self.book.rules[first].grade != self.book.rules[second].grade:
                together = both(self.meets[first], self.meets[second])
                if together is not None and self.some(together, self.cannot_be + Never(self.meets[:first])):
                    yield first, second

    def of(self, name: str) -> Sequence[Value]:
        """The values of an attribute that are told apart."""
        return self.values[name.removesuffix(AFTER)]


def both(one: Cube, other: Cube) -> Cube | None:
    """What two cubes share; None where it is nothing."""
    shared = {**one, **{name: places & one.get(name, places) for name, places in other.items()}}
    return shared if all(shared.values()) else None


def answers_otherwise(book: Rulebook, usual: Rulebook) -> bool:
    """Whether some part is answered by a copy of a rulebook as it is not by the usual one.

    An answer is a grade, that there is none, or that no such part can be.
    """
    sweep, clauses = Sweep(book, beside=usual), list[Clause]()
    # What neither has is answered alike by both.
    orders = [order for order in book.largest_first if order in usual.largest_first]
    mine, others = (_clauses(each, orders, sweep.values) for each in (book, usual))
    of_mine = of_others = 0
    for tag, i, j, k, m in SequenceMatcher(None, mine, others, autojunk=False).get_opcodes():
        # What both have stands there once; else first what one has there, then what the other has.
        of_mine |= _ones(j - i) << len(clauses)
        of_others |= _ones(m - k) << (len(clauses) + (0 if tag == "equal" else j - i))
        clauses += mine[i:j] if tag == "equal" else [*mine[i:j], *others[k:m]]
    cubes = [sweep.cube(when) for when, *_ in clauses]
    walk = Walk(sum(map(_out_of, orders), Never()), cubes, {}, sweep.of, (of_mine, of_others))
    answers = [answer for _, *answer in clauses]
    return any(
        (None if one is None else answers[one]) != (None if other is None else answers[other])
        for one, other in walk.ends_of_two()
    )


def _clauses(
    book: Rulebook, but: Sequence[LargestFirst], values: Mapping[str, Sequence[Value]]
) -> list[Clause]:
    """The clauses of a rulebook in their order, but for some orders of measures."""
    orders = [order for order in book.largest_first if order not in but]
    return [
        *((entry.when, "", "cannot be") for entry in book.impossible),
        *((when, "", "cannot be") for order in orders for when in out_of_order(order, values)),
        *((rule.when, rule.grade, "") for rule in book.rules),
    ]


def _out_of(order: LargestFirst) -> Never:
    """What is out of an order of measures."""
    return Never(pairs=[*itertools.pairwise(order.measures)])


def _ones(count: int) -> int:
    return (1 << count) - 1
