"""What kind of change it is between two versions, and the sentence that says so first."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal

from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.page_words import listed, spaced

if TYPE_CHECKING:
    from gradewright.rulebooks.comparer import Move
    from gradewright.rulebooks.comparison_places import AtPlaces
    from gradewright.rulebooks.comparison_told import ToldOtherwise
    from gradewright.rulebooks.differences import Differences

Class = Literal["same", "wording", "beside", "adds", "changes"]

CAN_BE_TOLD = ("grade", "no-grade")
"""The answers to what can be told; of all else the description is refused, or contradicts itself."""


def classed(
    old: Rulebook, new: Rulebook, moves: Sequence[Move], told: Sequence[ToldOtherwise], found: Differences
) -> tuple[Class, str]:
    """The class, and its sentence. `moves`: of parts; `told`: what can be told otherwise of some things."""
    if old.sha256 == new.sha256:
        return "same", "Nothing changes."
    lost = _lost(moves, told, found)
    if lost is not None:
        return "changes", lost
    got = _got(moves, told, found)
    if got is not None:
        return "adds", got
    if found.besides or found.names:
        return "beside", "No part changes its grade: of the grading rules no more than wording changes."
    return "wording", "No part changes its grade."


def at_places(kind: tuple[Class, str], found: Sequence[AtPlaces]) -> tuple[Class, str]:
    """The class, and its sentence, where parts change their grade by a place's own value of some limits.

    What a place says is in neither version: that no part changes its grade is not so of every place.
    """
    if not found:
        return kind
    limits = dict.fromkeys(name for each in found for name in each.limits)
    where = (
        f"where a place has its own value of {listed((spaced(name) for name in limits), 'or')}, parts can be"
    )
    if kind[0] == "changes":
        return "changes", f"{kind[1]} W{where[1:]} graded otherwise that are not elsewhere."
    whose = "No part that has a grade changes it" if kind[0] == "adds" else "No part changes its grade"
    return "changes", f"{whose} by the versions' own limits, but {where} graded otherwise."


def _lost(moves: Sequence[Move], told: Sequence[ToldOtherwise], found: Differences) -> str | None:
    """What parts, descriptions or names lose; None: nothing."""
    if any(move.before.grade is not None for move in moves):
        return "Some parts change their grade."
    if any(each.is_new for each in told):
        return "No part changes its grade, but what can be told of some things only contradicts all others."
    if any(m.before.answered in CAN_BE_TOLD and m.after.answered not in CAN_BE_TOLD for m in moves):
        some_get = any(m.before.grade is None and m.after.grade is not None for m in moves)
        get = "some without one get one, and some" if some_get else "some without one"
        return f"No part that has a grade changes it, but {get} cannot be told any more."
    # What was told by an attribute that is gone cannot be read any more; a name may mean another grade.
    if found.attributes_removed or found.grades_retired or any(each.means_another for each in found.names):
        return (
            "No part changes its grade as it is described, but what people write of some is read otherwise."
        )
    return None


def _got(moves: Sequence[Move], told: Sequence[ToldOtherwise], found: Differences) -> str | None:
    """What had no grade, or could not be told, and is answered otherwise; None: nothing."""
    shown = [*moves, *(move for each in told for move in each.moves)]
    if any(move.after.grade is not None for move in shown):
        return "No part that has a grade changes it, once all is known of it; others are answered now."
    if found.grades_added:
        return "No part changes its grade; what is given by the name of a new one has it now."
    if told or any(move.after.answered in CAN_BE_TOLD for move in moves):
        return "No part changes its grade, and none gets one, but what could not be told of some can be now."
    if moves:
        return "No part changes its grade, and none gets one: what cannot be told is refused otherwise."
    return None
