"""Every part that a rulebook of any size can tell from another, gone through with alike ones as one.

An attribute after the other is given each of its values, and parts that no clause still open can tell apart
go on as one: more parts of the shipped rulebook than could be counted are some thousands at a time. No solver
and no decision index: what a clause says of a value is asked of `Condition.holds`.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from difflib import SequenceMatcher

from tests.checks.proofs.brute import marks_of, out_of_order, rank, values_of

from gradewright.core.observations import Value
from gradewright.core.rulebook import Example, Rulebook, When

Cube = Mapping[str, frozenset[int]]
"""For some attributes the places of the values that a part may have."""
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
                book, rules=(*book.rules, *beside.rules), impossible=(*book.impossible, *beside.impossible)
            )
        self._marks, self.values = marks_of(asked), values_of(asked)
        self.cannot_be = [self.cube(entry.when) for entry in book.impossible]
        orders = [(o.id, when) for o in book.largest_first for when in out_of_order(o, self.values)]
        self.cannot_be += [self.cube(when) for _, when in orders]
        self.entries = [*(entry.id for entry in book.impossible), *(name for name, _ in orders)]
        self.meets = [self.cube(rule.when) for rule in book.rules]
        self.meant = [self.alike(example.part) for example in book.examples if example.ungraded]
        self._ends: dict[tuple[tuple[str, Value], ...], set[str | None]] = {}

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

    def first_met(
        self, cubes: Sequence[Cube], within: Cube, never: Sequence[Cube] | None = None
    ) -> set[int | None]:
        """Which of the cubes parts meet first, None for those that meet none.

        Of the parts within a cube that none of `never` has (what is impossible, if that is not given).
        """
        return set(self._first_met(cubes, within, self.cannot_be if never is None else never))

    def _first_met(self, cubes: Sequence[Cube], within: Cube, never: Sequence[Cube]) -> Iterator[int | None]:
        walk = _Walk([*never, *cubes], within, self.count)
        for end in walk.first(dropped=_ones(len(never))):
            yield None if end is None else end - len(never)

    def some(self, within: Cube, never: Sequence[Cube] | None = None) -> bool:
        """Whether there is a part within a cube that none of `never` has (what is impossible)."""
        avoided = self.cannot_be if never is None else never
        return any(True for _ in _Walk(avoided, within, self.count).first(dropped=~0))

    def ends(self, part: Mapping[str, Value]) -> set[str | None]:
        """The grades of the parts that a description fits and that can be; None: no rule decides."""
        key = tuple(part.items())
        if key not in self._ends:
            self._ends[key] = self.ends_within(self.alike(part))
        return self._ends[key]

    def ends_within(self, cube: Cube, most: Collection[str | None] | None = None) -> set[str | None]:
        """The same of the parts within a cube; `most`: all that there can be."""
        found: set[str | None] = set()
        for number in self._first_met(self.meets, cube, self.cannot_be):
            found.add(None if number is None else self.book.rules[number].grade)
            if found == most:
                break
        return found

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
        fitting = [
            (name, cube)
            for name, cube in zip(self.entries, self.cannot_be, strict=True)
            if both(fits, cube) is not None
        ]
        certain = {name for name, cube in fitting if set(cube) <= set(part)}
        return certain or {name for name, _ in fitting}

    def after(self, changes: Mapping[str, Value | None]) -> list[Cube]:
        """The parts of which work makes what cannot be; what it leaves open has a name of its own."""
        found = []
        for cube in self.cannot_be:
            fixed = {name: value for name, value in changes.items() if value is not None and name in cube}
            if all(self._place(name, value) in cube[name] for name, value in fixed.items()):
                found.append(
                    {name + AFTER * (name in changes): at for name, at in cube.items() if name not in fixed}
                )
        return found

    def overlaps(self) -> Iterator[tuple[int, int]]:
        """The pairs of rules of different grades of which some part meets both, and no rule before them."""
        for first, second in itertools.combinations(range(len(self.meets)), 2):
            if self.book.rules[first].grade != self.book.rules[second].grade:
                together = both(self.meets[first], self.meets[second])
                if together is not None and self.some(together, [*self.cannot_be, *self.meets[:first]]):
                    yield first, second

    def count(self, name: str) -> int:
        """How many values of an attribute there are to tell apart."""
        return len(self.values[name.removesuffix(AFTER)])


def both(one: Cube, other: Cube) -> Cube | None:
    """What two cubes share; None where it is nothing."""
    shared = {**one, **{name: places & one.get(name, places) for name, places in other.items()}}
    return shared if all(shared.values()) else None


class Spoilt(Sweep):
    """A copy of a rulebook: it answers as that one does but where one has a clause that the other lacks."""

    def __init__(self, book: Rulebook, usual: Sweep) -> None:
        super().__init__(book)
        self._usual = usual
        # Held against each other both know the values that either can tell apart. By itself the copy does
        # not: what an example means goes as far as the copy's own clauses cannot tell.
        self._before, self._after = Sweep(usual.book, beside=book), Sweep(book, beside=usual.book)
        self._clauses, self._mine, self._others = self._together()

    def ends(self, part: Mapping[str, Value]) -> set[str | None]:
        """The grades of the parts that a description fits and that can be; None: no rule decides."""
        here, fits = self._after, self._after.alike(part)
        one_has = [when for n, (when, *_) in enumerate(self._clauses) if (self._mine ^ self._others) >> n & 1]
        touched = [cube for when in one_has if (cube := both(fits, here.cube(when))) is not None]
        usual = self._usual.ends(part)
        before = [self._before.ends_within(cube, usual) for cube in touched]
        after = [here.ends_within(cube) for cube in touched]
        # Outside of what is touched the ends are those of both.
        return usual if before == after else here.ends_within(fits, usual.union(*after))

    def answers_otherwise(self) -> bool:
        """Whether some part is answered by one of the two as it is not by the other.

        An answer is a grade, that there is none, or that no such part can be.
        """
        here = self._after
        walk = _Walk([here.cube(when) for when, *_ in self._clauses], {}, here.count)
        return any(
            self._answer(mine) != self._answer(other)
            for mine, other in walk.first_of(self._mine, self._others)
        )

    def _answer(self, number: int | None) -> object:
        return None if number is None else self._clauses[number][1:]

    def _together(self) -> tuple[list[Clause], int, int]:
        """The clauses of both in their order, what both have once; and, as bits, which each has."""
        values = self._after.values
        mine, others = _clauses(self.book, values), _clauses(self._usual.book, values)
        together: list[Clause] = []
        of_mine = of_others = 0
        for tag, i, j, k, m in SequenceMatcher(None, mine, others, autojunk=False).get_opcodes():
            # What both have stands there once; else first what one has there, then what the other has.
            of_mine |= _ones(j - i) << len(together)
            of_others |= _ones(m - k) << (len(together) + (0 if tag == "equal" else j - i))
            together += mine[i:j] if tag == "equal" else [*mine[i:j], *others[k:m]]
        return together, of_mine, of_others


def _clauses(book: Rulebook, values: Mapping[str, Sequence[Value]]) -> list[Clause]:
    return [
        *((entry.when, "", "cannot be") for entry in book.impossible),
        *((when, "", "cannot be") for order in book.largest_first for when in out_of_order(order, values)),
        *((rule.when, rule.grade, "") for rule in book.rules),
    ]


def _ones(count: int) -> int:
    return (1 << count) - 1


class _Walk:
    """Goes through the parts within a cube, and tells which of an ordered list of cubes each meets first."""

    def __init__(self, cubes: Sequence[Cube], within: Cube, count: Callable[[str], int]) -> None:
        met = [(n, cube) for n, cube in enumerate(cubes) if both(within, cube) is not None]
        self._empty = not all(within.values())
        order = _order([set(cube) for _, cube in met])
        last = {n: max((order.index(name) for name in cube), default=-1) for n, cube in met}
        self._settled = [
            sum(1 << n for n, level in last.items() if level < reached) for reached in range(len(order) + 1)
        ]
        """What has been asked all that it asks, by how many attributes have a value."""
        self._left = []
        for name in order:
            places = within.get(name, range(count(name)))
            asking = [(n, cube[name]) for n, cube in met if name in cube]
            ruled_out = {sum(1 << n for n, own in asking if place not in own) for place in places}
            self._left.append([~bits for bits in ruled_out])
        self._start = sum(1 << n for n, _ in met)

    def first(self, dropped: int = 0) -> Iterator[int | None]:
        """The numbers of the cubes that parts meet first, None for one that meets none; some more than once.

        `dropped`: as bits, cubes whose parts are of no interest.
        """
        return (ends[0] for ends in self.first_of(~0, dropped=dropped))

    def first_of(self, *lists: int, dropped: int = 0) -> Iterator[tuple[int | None, ...]]:
        """The same of several lists at once, each of some of the cubes, as bits."""
        stack, seen = [] if self._empty else [(0, self._start)], set[tuple[int, int]]()
        while stack:
            level, still = stack.pop()
            if still & self._settled[level] & dropped:
                continue
            upto, counting = [], 0
            for each in lists:
                # Of a list nothing counts behind what is met for certain.
                end = _lowest(still & each & self._settled[level])
                upto.append(end)
                counting |= still & each & ((end << 1) - 1 if end else ~0)
            if all(_lowest(counting & each) == end for each, end in zip(lists, upto, strict=True)):
                yield tuple(end.bit_length() - 1 if end else None for end in upto)
            elif (level, counting) not in seen:
                seen.add((level, counting))
                # What leaves the fewest open comes first: whoever wants but one end has it soon.
                after = sorted(
                    {counting & left for left in self._left[level]}, key=int.bit_count, reverse=True
                )
                stack += [(level + 1, each) for each in after]


def _order(left: list[set[str]]) -> list[str]:
    """Attributes in an order in which clauses are soon settled: by what each does for those still open."""
    order: list[str] = []
    while left := [names for names in left if names]:
        worth: dict[str, float] = {}
        for names in left:
            for name in sorted(names):
                worth[name] = worth.get(name, 0) + 1 / len(names) ** 2
        order.append(max(worth, key=lambda name: worth[name]))
        for names in left:
            names.discard(order[-1])
    return order


def _lowest(bits: int) -> int:
    return bits & -bits
