"""Parts whose measures are out of an order that one of two versions alone asks for.

Of nearly every grade there are some, so these are told by order, and each grade has one part that shows it:
one of which nothing can be spared. The smallest of all takes seconds for each grade.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import z3

from gradewright.core.rulebook import LargestFirst, Rulebook
from gradewright.rulebooks.comparer import CANNOT_BE, Comparer, Move, Progress
from gradewright.rulebooks.solving import Side


@dataclass(frozen=True, slots=True)
class OutOfOrder:
    """What an order that is new, or gone, moves: `order` is its id, `says` it with the grades counted."""

    order: str
    moves: Sequence[Move]
    says: str


def out_of_order(
    old: Rulebook, new: Rulebook, renamed: Mapping[str, str], tell: Progress, known: int
) -> Iterator[OutOfOrder]:
    """For each order of measures that one version alone has, the moves of parts that are not in it.

    `known`: how many moves `tell` has heard of already.
    """
    if {order.measures for order in old.largest_first} == {order.measures for order in new.largest_first}:
        return
    comparer = _Orders(old, new, renamed, own_orders=True)
    for side, other in ((comparer.new, comparer.old), (comparer.old, comparer.new)):
        theirs = {order.measures for order in other.rulebook.largest_first}
        for number, order in enumerate(side.rulebook.largest_first):
            if order.measures not in theirs:
                moves = []
                for move in comparer.of(side, other, number):
                    tell("moves", known, 0)
                    known += 1
                    moves.append(replace(move, ways=[replace(way, by=order.id) for way in move.ways]))
                if moves:
                    yield OutOfOrder(order.id, moves, _says(order, moves, is_new=side is comparer.new))


def _says(order: LargestFirst, moves: Sequence[Move], *, is_new: bool) -> str:
    ways = [(len(move.ways[0].part), move.ways[0].says) for move in moves]
    grades = sum((move.before if is_new else move.after).grade is not None for move in moves)
    shown = min(ways, key=lambda way: way[0])[1]
    return f"There are such parts of {grades} {'grades' if grades > 1 else 'grade'}, for example: {shown}"


class _Orders(Comparer):
    """Each version with the orders that it has."""

    def of(self, side: Side, other: Side, number: int) -> Iterator[Move]:
        """From every end of one version to what cannot be by an order of the other, and back."""
        many = len(side.rulebook.impossible)
        by_order = z3.And(
            self.ends[id(side)][CANNOT_BE],
            side.impossible[many + number],
            z3.Not(self.parts.any_of(side.impossible[:many])),
        )
        solver = self.parts.solver(by_order)
        for end, formula in self.ends[id(other)].items():
            if end.answered in ("grade", "no-grade"):
                solver.push()
                solver.add(formula)
                if solver.check() == z3.sat:
                    came, goes = (end, CANNOT_BE) if side is self.new else (CANNOT_BE, end)
                    yield self._shown(came, goes, z3.And(by_order, formula), solver.model())
                solver.pop()
