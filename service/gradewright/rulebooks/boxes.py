"""Boxes around a part: everything in one meets certain clauses and misses others, as the part does.

What makes a part what it is, and which values would do as well. In bitsets, as the decision index has them,
but of the clauses as they are written: a search asks for thousands.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from gradewright.core.in_order import in_order
from gradewright.core.rulebook import Preparation, When
from gradewright.rulebooks.solving import Parts, Side

Box = dict[str, set[int]]
"""For some attributes the cells in which a value may lie; the others may have any value."""


class Boxes:
    """Boxes by the clauses of one list."""

    def __init__(self, parts: Parts, clauses: Sequence[When]) -> None:
        self._whole = {name: len(axis.cells) for name, axis in parts.axes.items()}
        self._asked = [
            {
                condition.attribute: {
                    number
                    for number, cell in enumerate(parts.axes[condition.attribute].cells)
                    if condition.holds(cell)
                }
                for condition in when
            }
            for when in clauses
        ]
        every = (1 << len(clauses)) - 1
        self._leaves = {name: [every] * count for name, count in self._whole.items()}
        for clause, asked in enumerate(self._asked):
            for name, cells in asked.items():
                for cell in range(self._whole[name]):
                    if cell not in cells:
                        self._leaves[name][cell] &= ~(1 << clause)

    def first_met(self, cells: Mapping[str, int], among: Iterable[int]) -> int | None:
        """The first of some clauses that a part meets."""
        for clause in among:
            if all(cells[name] in allowed for name, allowed in self._asked[clause].items()):
                return clause
        return None

    def around(self, cells: Mapping[str, int], meets: Mapping[str, set[int]], misses: int) -> Box:
        """A box around a part that meets the one and misses all of the others.

        `meets`: for some attributes the cells in which all of the box has to lie; `misses`: a bitset of
        clauses that no part in it may meet.
        """
        # What is restricted in any case, and whatever else rules out most of what is to be missed.
        taken, left = dict.fromkeys(meets), misses
        for name in meets:
            left &= self._leaves[name][cells[name]]
        while left:
            best = max(self._whole, key=lambda name: (left & ~self._leaves[name][cells[name]]).bit_count())
            if not left & ~self._leaves[best][cells[best]]:
                raise AssertionError("the part meets what it is said to miss")
            taken[best] = None
            left &= self._leaves[best][cells[best]]
        return self._wide(cells, list(taken), meets, misses)

    def _wide(
        self, cells: Mapping[str, int], names: Sequence[str], meets: Mapping[str, set[int]], misses: int
    ) -> Box:
        leaves = {name: self._leaves[name][cells[name]] for name in names}
        box: Box = {}
        for name in names:
            others = misses
            for other in names:
                if other != name:
                    others &= leaves[other]
            box[name] = {
                cell
                for cell in meets.get(name, range(self._whole[name]))
                if not others & self._leaves[name][cell]
            }
            for cell in box[name]:
                leaves[name] |= self._leaves[name][cell]
        return {name: found for name, found in box.items() if len(found) < self._whole[name]}

    def asked(self, clause: int) -> Mapping[str, set[int]]:
        """The cells in which a part has to lie to meet a clause."""
        return self._asked[clause]


class Answers:
    """Boxes in which one version answers as it does about a part."""

    def __init__(self, side: Side) -> None:
        book = side.rulebook
        self._grades = [rule.grade for rule in book.rules]
        never = _never(side)
        self._count = len(never)
        clauses = [*never, *(rule.when for rule in book.rules)]
        self._boxes = Boxes(side.parts, clauses)
        self._impossible = (1 << self._count) - 1
        self._rules = range(self._count, len(clauses))
        # Values that only the other version has words for.
        self.describable: Box = {}
        for name, attribute in book.attributes.items():
            axis = side.parts.axes[name]
            if attribute.choices and len(attribute.choices) < len(axis.cells):
                self.describable[name] = {n for n, cell in enumerate(axis.cells) if cell in attribute.choices}

    def decided(self, cells: Mapping[str, int]) -> int | None:
        """The number of the rule that decides about a part that can be; None where no rule does."""
        found = self._boxes.first_met(cells, self._rules)
        return None if found is None else found - self._count

    def end(self, cells: Mapping[str, int]) -> tuple[str, str | None]:
        """What a part that can be is answered: "grade" and which, or "no-grade" and None."""
        rule = self.decided(cells)
        return ("no-grade", None) if rule is None else ("grade", self._grades[rule])

    def described(self, cells: Mapping[str, int]) -> bool:
        """Whether the version has words for the part."""
        return all(cells[name] in own for name, own in self.describable.items())

    def can_be(self, cells: Mapping[str, int]) -> bool:
        """Whether the version can describe the part, and nothing that is impossible describes it."""
        return self.described(cells) and self._boxes.first_met(cells, range(self._count)) is None

    def alike(self, cells: Mapping[str, int]) -> Box:
        """A box around a part that can be, in which every part can be and the same rule, or none, decides."""
        rule = self._boxes.first_met(cells, self._rules)
        meets = {name: set(own) for name, own in self.describable.items()}
        misses = self._impossible | ((1 << (self._rules.stop if rule is None else rule)) - 1)
        if rule is not None:
            for name, allowed in self._boxes.asked(rule).items():
                meets[name] = meets[name] & allowed if name in meets else allowed
        return self._boxes.around(cells, meets, misses)

    def within(self, cells: Mapping[str, int], meets: Mapping[str, set[int]]) -> Box:
        """A box around a part that can be, in which every part can be and lies in certain cells."""
        both = {name: set(own) for name, own in self.describable.items()}
        for name, allowed in meets.items():
            both[name] = both[name] & allowed if name in both else allowed
        return self._boxes.around(cells, both, self._impossible)

    def missing(self, cells: Mapping[str, int], rule: int, *, can_be: bool) -> Box:
        """A box around a part that does not meet a rule, in which none does (and every part can be)."""
        misses = 1 << (rule + self._count)
        return self._boxes.around(cells, {}, misses | self._impossible if can_be else misses)


class Undone:
    """Boxes in which every part can be, and a preparation is for none."""

    def __init__(self, side: Side, work: Preparation) -> None:
        never = _never(side)
        self._boxes = Boxes(side.parts, [*never, work.when, *work.unless])
        self._impossible, self._when = (1 << len(never)) - 1, len(never)
        self._unless = range(len(never) + 1, len(never) + 1 + len(work.unless))

    def around(self, cells: Mapping[str, int]) -> Box:
        """Such a box around a part: what excepts it excepts all in the box, or none in it is asked for."""
        excepted = self._boxes.first_met(cells, self._unless)
        if excepted is None:
            return self._boxes.around(cells, {}, self._impossible | 1 << self._when)
        return self._boxes.around(cells, self._boxes.asked(excepted), self._impossible)


def _never(side: Side) -> list[When]:
    """What no part can meet: the impossible entries, and measures out of their order."""
    orders = in_order(side.rulebook.largest_first, side.parts.whens)
    return [*(entry.when for entry in side.rulebook.impossible), *(when for _, when in orders)]
