"""Moves that are told together: where what cannot be is drawn otherwise, parts of nearly every grade move."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from gradewright.rulebooks.moved_schemas import EndOut, MoveOut, TogetherOut

MOST_APART = 12
"""So many moves from or to what cannot be are told one by one: of so many each has its smallest part."""
MOST_OF_AN_ORDER = 3
"""So many moves by an order of measures are shown each: its sentence is told of all of them already."""
MOST_NAMED = 3
MOST_SENTENCES = 40
"""Of moves, in a summary."""
CANNOT_BE = "contradiction"
ANSWERS = {"no-grade": "no grade", CANNOT_BE: "cannot be", "not-described": "not described"}


def together(moves: Sequence[MoveOut], by_order: Mapping[str, str]) -> list[TogetherOut]:
    """The moves from what cannot be, those to it, and those of each order of measures, where they are many:
    by their places among the moves, with a sentence and the smallest part of any.

    `by_order`: for each order that moves parts the sentence that the summary has of it already. What moves by
    an order alone is counted by itself: it hides no move that is told well on its own.
    """
    own = [place for place, move in enumerate(moves) if any(way.by is None for way in move.ways)]
    came = [place for place in own if moves[place].before.answered == CANNOT_BE]
    gone = [place for place in own if moves[place].after.answered == CANNOT_BE]
    found = []
    if len(came) > MOST_APART:
        names = _names([moves[place].after for place in came])
        says = f"What was taken for a contradiction is answered now in {len(came)} ways: {names}"
        found.append(_group(says, moves, came))
    if len(gone) > MOST_APART:
        names = _names([moves[place].before for place in gone])
        says = f"What had one of {len(gone)} answers is taken for a contradiction now: {names}"
        found.append(_group(says, moves, gone))
    for order, says in by_order.items():
        places = [place for place, move in enumerate(moves) if _by(move) == order]
        if len(places) > MOST_OF_AN_ORDER:
            found.append(_group(says, moves, places, order))
    return found


def summed_up(summary: Sequence[str], moves: Sequence[MoveOut], told: Sequence[TogetherOut]) -> list[str]:
    """The sentences of a summary, with one for all moves that are told together, where the first was; and of
    moves no more than are read, with how many more there are."""
    instead = {
        way.says: group.says
        for group in told
        for place in group.moves
        for way in moves[place].ways
        if way.by is None
    }
    of_moves = {instead.get(way.says, way.says) for move in moves for way in move.ways}
    lines = list(dict.fromkeys(instead.get(line, line) for line in summary))
    every = [line for line in lines if line in of_moves]
    if len(every) <= MOST_SENTENCES:
        return lines
    first, *others = every[MOST_SENTENCES:]
    at = lines.index(first)
    lines[at] = f"And {len(others) + 1} more moves." if others else "And one more move."
    gone = set(others)
    return [line for line in lines if line not in gone]


def answer(end: EndOut) -> str:
    """An answer in a word or two: a grade by its name."""
    return end.name or ANSWERS[end.answered]


def _by(move: MoveOut) -> str | None:
    """The order, or the entry of what is told of some things only, by which alone parts move so."""
    return move.ways[0].by if all(way.by is not None for way in move.ways) else None


def _group(
    says: str, moves: Sequence[MoveOut], places: Sequence[int], order: str | None = None
) -> TogetherOut:
    """So many moves in a sentence, with the smallest part of those that are by that order, or by none."""
    parts = (way.part for place in places for way in moves[place].ways if way.by == order)
    return TogetherOut(says=says, part=min(parts, key=len), moves=list(places))


def _names(ends: Sequence[EndOut]) -> str:
    return f"{', '.join(answer(end) for end in ends[:MOST_NAMED])}, …"
