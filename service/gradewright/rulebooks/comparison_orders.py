"""Parts whose measures are out of an order that one of two versions asks for.

Of nearly every grade there are some, so these are told by order, and each grade has one part that shows it:
one of which nothing can be spared. The smallest of all takes seconds for each grade. Here measures are held
against each other as they are, also where no clause parts them (`comparison_apart`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import z3

from gradewright.core.rulebook import LargestFirst, Rulebook
from gradewright.rulebooks.comparer import CANNOT_BE, End, Move, Progress
from gradewright.rulebooks.comparison_apart import Apart
from gradewright.rulebooks.solving import Formula, Side


@dataclass(frozen=True, slots=True)
class OutOfOrder:
    """What an order that is new, or gone, moves: `order` is its id, `says` it with the grades counted."""

    order: str
    moves: Sequence[Move]
    says: str


def same_orders(old: Rulebook, new: Rulebook) -> bool:
    """Whether both hold the same measures against each other."""
    return {order.measures for order in old.largest_first} == {order.measures for order in new.largest_first}


def out_of_order(
    old: Rulebook, new: Rulebook, renamed: Mapping[str, str], tell: Progress, moved: Sequence[Move]
) -> tuple[list[OutOfOrder], list[Move]]:
    """For each order of measures that one version alone has, the moves of parts that are not in it; and those
    moves of parts out of some order that are neither among these nor among `moved`."""
    same = same_orders(old, new)
    if not (old.largest_first or new.largest_first) or (same and not _other_words(old, new)):
        return [], []
    comparer = _Orders(old, new, renamed)
    count, found = len(moved), list[OutOfOrder]()
    for side, other in () if same else ((comparer.new, comparer.old), (comparer.old, comparer.new)):
        theirs = {order.measures for order in other.rulebook.largest_first}
        for number, order in enumerate(side.rulebook.largest_first):
            if order.measures not in theirs:
                moves = []
                for move in comparer.of(side, other, number):
                    tell("moves", count, 0)
                    count += 1
                    moves.append(replace(move, ways=[replace(way, by=order.id) for way in move.ways]))
                if moves:
                    says = _says(order, moves, is_new=side is comparer.new)
                    found.append(OutOfOrder(order.id, moves, says))
    known = [*moved, *(move for each in found for move in each.moves)]
    rest = []
    for move in comparer.but_for([(move.before, move.after) for move in known]):
        tell("moves", count, 0)
        count += 1
        rest.append(move)
    return found, rest


def _other_words(old: Rulebook, new: Rulebook) -> bool:
    """Whether one version has words for what a part is that the other one has not."""
    both = old.attributes.keys() & new.attributes.keys()
    return any(old.attributes[name].choices.keys() != new.attributes[name].choices.keys() for name in both)


def _says(order: LargestFirst, moves: Sequence[Move], *, is_new: bool) -> str:
    ways = [(len(move.ways[0].part), move.ways[0].says) for move in moves]
    grades = sum((move.before if is_new else move.after).grade is not None for move in moves)
    shown = min(ways, key=lambda way: way[0])[1]
    return f"There are such parts of {grades} {'grade' if grades == 1 else 'grades'}, for example: {shown}"


class _Orders(Apart):
    """Each version with the orders that it has."""

    def of(self, side: Side, other: Side, number: int) -> Iterator[Move]:
        """From every end of one version to what cannot be by an order of the other, and back."""
        many, orders = len(side.rulebook.impossible), side.rulebook.largest_first
        by_order = z3.And(self.ends[id(side)][CANNOT_BE], side.impossible[many + number])
        alone = self.parts.define(z3.Not(self.parts.any_of(side.impossible[:many])), "by orders alone")
        parted = self.parts.define(self.parts.parted_out_of_order(orders, number), "parted")
        solver = self.parts.solver(by_order)
        for end, formula in self.ends[id(other)].items():
            if end.answered in ("grade", "no-grade"):
                solver.push()
                solver.add(formula)
                # Rather a part that nothing else rules out, and whose measures a clause tells apart.
                if any(
                    solver.check(*rather) == z3.sat for rather in ([alone, parted], [alone], [parted], [])
                ):
                    came, goes = (end, CANNOT_BE) if side is self.new else (CANNOT_BE, end)
                    yield self.shown(came, goes, z3.And(by_order, formula), solver.model())
                solver.pop()

    def but_for(self, known: Sequence[tuple[End, End]]) -> Iterator[Move]:
        """Every other pair of ends between which a part moves."""
        before, after = self.ends[id(self.old)], self.ends[id(self.new)]
        told: Formula = self.parts.any_of(z3.And(before[came], after[goes]) for came, goes in known)
        for came, goes, both, model in self.pairs_of_ends(z3.And(z3.Not(self.same), z3.Not(told))):
            yield self.shown(came, goes, both, model)
