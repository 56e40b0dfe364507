"""What changes between two versions, by meaning: which parts change their grade, with a part that does.

By the solver, over all parts that either version can describe: where no move is told, no part changes its
answer, whatever was rewritten.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Literal

from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.comparer import MOST_WAYS, Comparer, End, Move, Progress
from gradewright.rulebooks.comparison_orders import OutOfOrder, out_of_order
from gradewright.rulebooks.comparison_words import summary
from gradewright.rulebooks.differences import Differences, differences

COMPARER = "12"
"""The way of comparing: a change of what is looked for, or of how it is told, is a new one."""
NOBODY: Mapping[str, str] = MappingProxyType({})

Class = Literal["same", "wording", "beside", "adds", "changes"]


@dataclass(frozen=True, slots=True)
class Comparison:
    """Everything between two versions.

    `kind`: "same" where the documents are; "wording" where it is proved that every part is answered as
    before, and nothing else changes; "beside" where so is every part, but `differences.besides` or names that
    came or went tell what else changes; "adds" where only parts without a grade are answered otherwise;
    "changes" where parts that have a grade lose it or get another, as they are described or by a name that
    means another one, or where what was told of them cannot be told any more. `also`: the sections of
    `differences.besides`, such as `pricing`.
    """

    before: str
    after: str
    kind: Class
    moves: Sequence[Move]
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
    moved = list(Comparer(old, new, found.grades_renamed).moves(tell)) if found.touch_grading else []
    orders = list(out_of_order(old, new, found.grades_renamed, tell, len(moved)))
    says = [way.says for move in moved for way in move.ways]
    moved = _merged(moved, orders)
    kind = _class(old, new, moved, found)
    told = summary(old, new, kind, says, found, {each.order: each.says for each in orders})
    return Comparison(old.version, new.version, kind, moved, found, found.beside_grades, told)


def moves(
    before: Rulebook,
    after: Rulebook,
    progress: Progress | None = None,
    renamed: Mapping[str, str] = NOBODY,
) -> list[Move]:
    """Every pair of ends between which a part moves, whatever the documents look like.

    `renamed`: grades that are the same under another slug.
    """
    tell = progress or _nobody
    moved = list(Comparer(before, after, renamed).moves(tell))
    return _merged(moved, out_of_order(before, after, renamed, tell, len(moved)))


def _nobody(what: str, done: int, of: int) -> None:
    """Nobody asks how far it is."""


def _merged(moved: Sequence[Move], orders: Iterable[OutOfOrder]) -> list[Move]:
    """All moves, each pair of ends once: also those of parts whose measures are out of an order."""
    found: dict[tuple[End, End], Move] = {}
    for move in (*moved, *(move for order in orders for move in order.moves)):
        there = found.get((move.before, move.after))
        ways = [*(there.ways if there else ()), *move.ways]
        complete = move.all_ways and (there is None or there.all_ways) and len(ways) <= MOST_WAYS
        found[move.before, move.after] = Move(move.before, move.after, ways[:MOST_WAYS], complete)
    return list(found.values())


def _class(before: Rulebook, after: Rulebook, moves: Sequence[Move], found: Differences) -> Class:
    if before.sha256 == after.sha256:
        return "same"
    # What was told by an attribute that is gone cannot be read any more; a name may mean another grade.
    lost = found.attributes_removed or any(name.means_another for name in found.names) or found.grades_retired
    was, now = (
        {*(order.measures for order in book.largest_first), *((e.attributes, e.of) for e in book.told_of)}
        for book in (before, after)
    )
    if lost or now - was or any(move.before.grade is not None for move in moves):
        return "changes"
    if moves or was - now:
        return "adds"
    return "beside" if found.besides or found.names else "wording"
