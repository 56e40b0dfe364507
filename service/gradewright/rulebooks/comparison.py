"""What changes between two versions, by meaning: which parts change their grade, with a part that does.

By the solver, over all parts that either version can describe: where no move is told, no part changes its
answer by the versions' own limits, whatever was rewritten; and where that is not so of places that have other
values of some limits, these are named. What can be told of some things only changes no part, but what can be
told of it: by each entry that does there is one move, with a description that shows it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.besides import in_turn
from gradewright.rulebooks.comparer import Comparer, End, Move, Progress
from gradewright.rulebooks.comparison_class import Class, at_places, classed
from gradewright.rulebooks.comparison_open import left_open
from gradewright.rulebooks.comparison_orders import OutOfOrder, out_of_order, same_orders
from gradewright.rulebooks.comparison_places import AtPlaces, of_places
from gradewright.rulebooks.comparison_sure import otherwise_sure
from gradewright.rulebooks.comparison_told import told_otherwise
from gradewright.rulebooks.comparison_words import moved_at_places, summary
from gradewright.rulebooks.differences import Differences, differences

COMPARER = "17"
"""The way of comparing: a change of what is looked for, or of how it is told, is a new one."""
NOBODY: Mapping[str, str] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Comparison:
    """Everything between two versions.

    `kind`: "same" where the documents are; "wording" where it is proved that every part is answered as
    before, whatever values of limits places have, and nothing else changes; "beside" where so is every part,
    but `differences.besides` or names that came or went tell what else changes; "adds" where only what had no
    grade is answered otherwise, as parts are described or by the name of a new grade, and all that could be
    told still can; "changes" where parts that have a grade lose it or get another, as they are described or
    by a name that means another one, where places can have values of limits by which they do, or where what
    was told of them cannot be told any more. `also`: the sections of `differences.besides`, such as
    `pricing`.
    """

    before: str
    after: str
    kind: Class
    moves: Sequence[Move]
    places: Sequence[AtPlaces]
    differences: Differences
    also: Sequence[str]
    summary: Sequence[str]


Document = Mapping[str, Any]


def compare(
    before: tuple[Rulebook, Document], after: tuple[Rulebook, Document], progress: Progress | None = None
) -> Comparison:
    """The comparison of two versions, each with its document.

    Takes seconds of one processor: not to be called where others wait. `progress` is told what is looked at,
    how far it is, and how much there is (0: not known yet).
    """
    (old, old_document), (new, new_document) = before, after
    found = differences(old, new, old_document, new_document)
    tell = progress or _nobody
    renamed = found.grades_renamed
    told_of = [{(each.attributes, each.of) for each in book.told_of} for book in (old, new)]
    comparer = Comparer(old, new, renamed) if found.touch_grading or told_of[0] != told_of[1] else None
    moved, orders = _of_parts(comparer if found.touch_grading else None, old, new, renamed, tell)
    says = [way.says for move in moved for way in move.ways]
    moved = _merged([*moved, *(move for order in orders for move in order.moves)])
    told = (
        list(told_otherwise(comparer, tell, len(moved)))
        if comparer is not None and told_of[0] != told_of[1]
        else []
    )
    if comparer is not None and found.touch_grading:
        found = replace(found, besides=in_turn([*found.besides, *otherwise_sure(comparer)]))
    kind = classed(old, new, moved, told, found)
    places: list[AtPlaces] = []
    if found.touch_grading or not same_orders(old, new):
        places = of_places(old, new, renamed, tell, [(move.before, move.after) for move in moved])
        kind = at_places(kind, places)
    shown: dict[str, str] = {}
    for entry, each in (*((o.order, o.says) for o in orders), *((t.entry, t.says) for t in told)):
        shown[entry] = f"{shown.get(entry, '')} {each}".strip()
    summed_up = summary(old, new, kind, says, list(moved_at_places(old, new, places)), found, shown)
    moved = _merged([*moved, *(move for each in told for move in each.moves)])
    return Comparison(old.version, new.version, kind[0], moved, places, found, found.beside_grades, summed_up)


def moves(
    before: Rulebook,
    after: Rulebook,
    progress: Progress | None = None,
    renamed: Mapping[str, str] = NOBODY,
) -> list[Move]:
    """Every pair of ends between which a part moves, whatever the documents look like.

    `renamed`: grades that are the same under another slug.
    """
    comparer = Comparer(before, after, renamed)
    moved, orders = _of_parts(comparer, before, after, renamed, progress or _nobody)
    return _merged([*moved, *(move for order in orders for move in order.moves)])


def _of_parts(
    comparer: Comparer | None, old: Rulebook, new: Rulebook, renamed: Mapping[str, str], tell: Progress
) -> tuple[list[Move], list[OutOfOrder]]:
    """All moves of parts: by the rules and what is impossible, and by orders of measures. Without a comparer
    nothing but orders can move any."""
    moved = list[Move]()
    if comparer is not None:
        # What is out of an order that one version has is looked at with the orders, as each version has them.
        among = None if same_orders(old, new) else comparer.in_order
        moved = list(comparer.moves(tell, among))
    orders, rest = out_of_order(old, new, renamed, tell, moved)
    moved += rest
    if comparer is not None:
        # What people tell comes first: of many whole parts that move there are then only contradictions.
        ends = [(move.before, move.after) for each in (moved, *(o.moves for o in orders)) for move in each]
        moved = [*left_open(comparer, tell, ends), *moved]
    return moved, orders


def _nobody(what: str, done: int, of: int) -> None:
    """Nobody asks how far it is."""


def _merged(moves: Iterable[Move]) -> list[Move]:
    """All moves, each pair of ends once: also those of parts whose measures are out of an order."""
    found: dict[tuple[End, End], Move] = {}
    for move in moves:
        there = found.get((move.before, move.after))
        ways = [*(there.ways if there else ()), *move.ways]
        complete = move.all_ways and (there is None or there.all_ways)
        found[move.before, move.after] = Move(move.before, move.after, ways, complete)
    return list(found.values())
