"""Every part that a rulebook of any size can tell from another, gone through with alike ones as one.

An attribute after the other is given each of its values, and parts that no clause still open can tell apart
go on as one: more parts of the shipped rulebook than could be counted are some thousands at a time. No solver
and no decision index: what a clause says of a value is asked of `Condition.holds`.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from difflib import SequenceMatcher

from tests.checks.proofs.brute import marks_of, rank, values_of

from gradewright.core.observations import Value
from gradewright.core.rulebook import Example, Rulebook, When

Cube = Mapping[str, frozenset[int]]
"""For some attributes the places of the values that a part may have."""
AFTER = " after"
"""Behind the name of an attribute that work leaves to be looked at afresh."""

_ENDS: dict[tuple[object, ...], set[str | None]] = {}


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
        self.meets = [self.cube(rule.when) for rule in book.rules]
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

    def first_met(
        self, cubes: Sequence[Cube], within: Cube, never: Sequence[Cube] | None = None
    ) -> set[int | None]:
        """Which of the cubes parts meet first, None for those that meet none.

        Of the parts within a cube that none of `never` has (what is impossible, if that is not given).
        """
        avoided = self.cannot_be if never is None else never
        walk = _Walk([*avoided, *cubes], within, self.count)
        ends = walk.first(dropped=(1 << len(avoided)) - 1)
        return {None if end is None else end - len(avoided) for end in ends}

    def some(self, within: Cube, never: Sequence[Cube] | None = None) -> bool:
        """Whether there is a part within a cube that none of `never` has (what is impossible)."""
        avoided = self.cannot_be if never is None else never
        return any(True for _ in _Walk(avoided, within, self.count).first(dropped=~0))

    def ends(self, part: Mapping[str, Value]) -> set[str | None]:
        """The grades of the parts that a description fits and that can be; None: no rule decides."""
        fits = self.alike(part)
        entries = zip(self.book.impossible, self.cannot_be, strict=True)
        rules = zip(self.book.rules, self.meets, strict=True)
        never = [entry.when for entry, cube in entries if both(fits, cube) is not None]
        near = [(rule, cube) for rule, cube in rules if both(fits, cube) is not None]
        # Copies of one rulebook say the same of most parts, in the same words.
        key = (*part.items(),), (*never,), (*((rule.when, rule.grade) for rule, _ in near),)
        if key not in _ENDS:
            found = self.first_met([cube for _, cube in near], fits)
            _ENDS[key] = {None if number is None else near[number][0].grade for number in found}
        return _ENDS[key]

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
        entries = list(zip(self.book.impossible, self.cannot_be, strict=True))
        may = {entry.id for entry, cube in entries if both(fits, cube) is not None}
        certain = {entry.id for entry, cube in entries if set(cube) <= set(part) and entry.id in may}
        return certain or may

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


def answers_otherwise(before: Rulebook, after: Rulebook) -> bool:
    """Whether some part is answered by one of two rulebooks as it is not by the other.

    An answer is a grade, that there is none, or that no such part can be.
    """
    sweep = Sweep(before, beside=after)
    one, other = (
        [*((e.when, "", "cannot be") for e in book.impossible), *((r.when, r.grade, "") for r in book.rules)]
        for book in (before, after)
    )
    told: list[tuple[When, str, str]] = []
    mine = theirs = 0
    for tag, i, j, k, m in SequenceMatcher(None, one, other, autojunk=False).get_opcodes():
        # What both have stands there once; else first what one has in this place, then what the other has.
        mine |= _ones(j - i) << len(told)
        theirs |= _ones(m - k) << (len(told) + (0 if tag == "equal" else j - i))
        told += one[i:j] if tag == "equal" else [*one[i:j], *other[k:m]]
    walk = _Walk([sweep.cube(when) for when, _, _ in told], {}, sweep.count)
    return any(
        (None if first is None else told[first][1:]) != (None if second is None else told[second][1:])
        for first, second in walk.first_of(mine, theirs)
    )


def _ones(count: int) -> int:
    return (1 << count) - 1


class _Walk:
    """Goes through the parts within a cube, and tells which of an ordered list of cubes each meets first."""

    def __init__(self, cubes: Sequence[Cube], within: Cube, count: Callable[[str], int]) -> None:
        met = [(n, cube) for n, cube in enumerate(cubes) if both(within, cube) is not None]
        self._empty = not all(within.values())
        asked = Counter(name for _, cube in met for name in cube)
        # What most is asked for first: it leaves the fewest clauses open.
        order = sorted(asked, key=lambda name: -asked[name])
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


def _lowest(bits: int) -> int:
    return bits & -bits
