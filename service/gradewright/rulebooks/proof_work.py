"""Work after which no part can be as it is described, with the smallest part that it is for."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from itertools import combinations

import z3

from gradewright.core.errors import Path
from gradewright.core.in_order import out_of_order
from gradewright.core.observations import Value
from gradewright.core.rulebook import Preparation, Rulebook
from gradewright.rulebooks.advice import CHANGE_IT
from gradewright.rulebooks.boxes import Undone
from gradewright.rulebooks.given import Writing
from gradewright.rulebooks.smallest import Smallest
from gradewright.rulebooks.solving import Formula, Part, Parts, Side, Written

Tell = Callable[[int, int], None]
Nowhere = tuple[str, Path, Mapping[str, Written]]


def leading_nowhere(side: Side, smallest: Smallest, tell: Tell) -> Iterator[Nowhere]:
    """What is wrong, where, and a part: of every preparation that there are parts for, none of which can be
    as it is left. `tell` is told how many are done, of how many."""
    parts, solver, writing = side.parts, side.parts.solver(), Writing(side.parts, side.rulebook)
    possible = z3.Not(parts.any_of(_never(side.parts, side.rulebook)))
    for number, (slug, work) in enumerate(side.rulebook.preparations.items()):
        tell(number, len(side.rulebook.preparations))
        known = len(parts.definitions)
        after = parts.after(possible, work.changes)
        done = z3.And(parts.when(work.when), z3.Not(parts.any_of(map(parts.when, work.unless))))
        solver.push()
        solver.add(side.can_be, done)
        if solver.check() == z3.sat:
            model = solver.model()
            solver.add(*parts.definitions[known:], after)
            if _out_of_order(side.rulebook, work.changes) or solver.check() == z3.unsat:
                yield (
                    f"preparation {slug}: after it, what every part is described as cannot be.{CHANGE_IT}",
                    ("preparations", slug, "changes"),
                    writing.part(_part(side, smallest, work, done, model)),
                )
        solver.pop()


def _part(side: Side, smallest: Smallest, work: Preparation, done: Formula, model: Formula) -> Part:
    """The smallest part that work is for: told, if that does, by nothing but what its clauses ask."""
    counter = z3.And(side.can_be, z3.Not(done))
    asked = {condition.attribute for when in (work.when, *work.unless) for condition in when}
    around = Undone(side, work).around
    part = smallest.showing(z3.And(side.can_be, done), counter, around, rather=asked)
    # None where it takes more observations than the search goes to.
    return smallest.within(model, counter) if part is None else part


def _never(parts: Parts, book: Rulebook) -> list[Formula]:
    orders = book.largest_first
    return [
        *(parts.when(entry.when) for entry in book.impossible),
        *(parts.out_of_order(orders, number) for number in range(len(orders))),
    ]


def _out_of_order(book: Rulebook, changes: Mapping[str, Value | None]) -> bool:
    """Whether work leaves two measures out of their order, be it where no clause tells their values apart."""
    left = {name: value for name, value in changes.items() if value is not None}
    return any(
        out_of_order(larger, smaller, left)
        for order in book.largest_first
        for larger, smaller in combinations(order.measures, 2)
    )
