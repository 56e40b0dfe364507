"""The wire forms of moves: parts that another version answers otherwise."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from gradewright.core.rulebook import Rulebook
from gradewright.web.fields import Out

if TYPE_CHECKING:
    from gradewright.rulebooks.comparer import End, Move
    from gradewright.rulebooks.comparison_places import AtPlaces


class EndOut(Out):
    """What a version says of a part: a grade; that no rule takes it; that no part can be so; or nothing, as
    it has no word for what was observed."""

    answered: Literal["grade", "no-grade", "contradiction", "not-described"]
    grade: str | None
    name: str | None

    @classmethod
    def of(cls, end: End, book: Rulebook) -> EndOut:
        """The wire form."""
        name = None if end.grade is None else book.grades[end.grade].name
        return cls(answered=end.answered, grade=end.grade, name=name)


class WayOut(Out):
    """By which rules parts move (null: none decides), the smallest description of one, for each of its
    observations all values that do the same, and the whole in a sentence. `by`: the entry of `largest_first`
    or `told_of` that alone makes the difference, as measures are out of an order, or something is told of
    another thing, and that is a contradiction on one side; then it is a description of which nothing can be
    spared, and of `told_of` there is one for each entry, and not for each grade."""

    rule_before: str | None
    rule_after: str | None
    part: dict[str, str | bool | int]
    ranges: dict[str, str]
    says: str
    by: str | None


class MoveOut(Out):
    """Parts that are answered otherwise. `all_ways`: whether the ways that are told are all there are."""

    before: EndOut
    after: EndOut
    ways: list[WayOut]
    all_ways: bool

    @classmethod
    def of(cls, move: Move, before: Rulebook, after: Rulebook) -> MoveOut:
        """The wire form."""
        ways = [
            WayOut(
                rule_before=way.rule_before,
                rule_after=way.rule_after,
                part=dict(way.part),
                ranges=dict(way.ranges),
                says=way.says,
                by=way.by,
            )
            for way in move.ways
        ]
        return cls(
            before=EndOut.of(move.before, before),
            after=EndOut.of(move.after, after),
            ways=ways,
            all_ways=move.all_ways,
        )


class TogetherOut(Out):
    """Moves that are told in one sentence, by their places in `moves`, and the smallest description of a part
    of any of them."""

    says: str
    part: dict[str, str | bool | int]
    moves: list[int]


class EndsOut(Out):
    """Between which answers parts move."""

    before: EndOut
    after: EndOut


class AtPlacesOut(Out):
    """Limits (several: together) of which some place's own value moves parts between these answers that by
    the versions' own do not move, or not so. `all_moves`: whether those are all."""

    limits: list[str]
    moves: list[EndsOut]
    all_moves: bool

    @classmethod
    def of(cls, found: AtPlaces, before: Rulebook, after: Rulebook) -> AtPlacesOut:
        """The wire form."""
        moves = [
            EndsOut(before=EndOut.of(came, before), after=EndOut.of(goes, after))
            for came, goes in found.moves
        ]
        return cls(limits=list(found.limits), moves=moves, all_moves=found.complete)
