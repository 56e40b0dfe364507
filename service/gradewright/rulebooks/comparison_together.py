"""Moves that are told together: where what cannot be is drawn otherwise, parts of nearly every grade move."""

from __future__ import annotations

from collections.abc import Sequence

from gradewright.rulebooks.moved_schemas import EndOut, MoveOut, TogetherOut

MOST_APART = 3
"""So many moves from or to what cannot be are told one by one."""
CANNOT_BE = "contradiction"
ANSWERS = {"no-grade": "no grade", CANNOT_BE: "cannot be", "not-described": "not described"}


def together(moves: Sequence[MoveOut]) -> list[TogetherOut]:
    """The moves from what cannot be, and those to it, where they are more than `MOST_APART`: by their places
    among the moves, with a sentence and the smallest part of any.
    """
    came = [place for place, move in enumerate(moves) if move.before.answered == CANNOT_BE]
    gone = [place for place, move in enumerate(moves) if move.after.answered == CANNOT_BE]
    found = []
    if len(came) > MOST_APART:
        names = _names([moves[place].after for place in came])
        says = f"What was taken for a contradiction is answered now in {len(came)} ways: {names}"
        found.append(TogetherOut(says=says, part=_smallest(moves, came), moves=came))
    if len(gone) > MOST_APART:
        names = _names([moves[place].before for place in gone])
        says = f"What had one of {len(gone)} answers is taken for a contradiction now: {names}"
        found.append(TogetherOut(says=says, part=_smallest(moves, gone), moves=gone))
    return found


def summed_up(summary: Sequence[str], moves: Sequence[MoveOut], told: Sequence[TogetherOut]) -> list[str]:
    """The sentences of a summary, with one for all moves that are told together, where the first was."""
    instead = {way.says: group.says for group in told for place in group.moves for way in moves[place].ways}
    return list(dict.fromkeys(instead.get(line, line) for line in summary))


def answer(end: EndOut) -> str:
    """An answer in a word or two: a grade by its name."""
    return end.name or ANSWERS[end.answered]


def _names(ends: Sequence[EndOut]) -> str:
    return f"{', '.join(answer(end) for end in ends[:MOST_APART])}, …"


def _smallest(moves: Sequence[MoveOut], places: Sequence[int]) -> dict[str, str | bool | int]:
    return min((way.part for place in places for way in moves[place].ways), key=len)
