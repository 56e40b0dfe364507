"""What is told of some things only, by one of two versions alone: one description that shows each entry.

No part changes its grade by it: what was told of other things is a contradiction now, or is none any more. Of
nearly every grade there are such descriptions, so one is told for each entry: nothing in it can be spared.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import z3

from gradewright.core.rulebook import ToldOf
from gradewright.core.told_of import outside
from gradewright.rulebooks.comparer import CANNOT_BE, Comparer, End, Move, Progress, Way
from gradewright.rulebooks.comparison_words import ranges, sentence
from gradewright.rulebooks.solving import Formula, Part, Side

MOST_GRADES = 3
"""So many grades are tried for each entry: that of the smallest description is shown."""


@dataclass(frozen=True, slots=True)
class ToldOtherwise:
    """An entry by which something contradicts itself now (`is_new`), or does no more; `moves`: one that shows
    it, by a description; none where every such description contradicted itself in another way."""

    entry: str
    is_new: bool
    moves: Sequence[Move]

    @property
    def says(self) -> str:
        """What shows it, in a sentence."""
        return " ".join(f"For example: {way.says}" for move in self.moves for way in move.ways)


def told_otherwise(comparer: Comparer, tell: Progress, known: int) -> Iterator[ToldOtherwise]:
    """Each entry of one version that rules out what the other one lets be told, by meaning and not as it is
    written. `known`: how many moves `tell` has heard of already."""
    old, new = _RuledOut(comparer, comparer.old), _RuledOut(comparer, comparer.new)
    for is_new, told in ((True, _Told(comparer, new, old)), (False, _Told(comparer, old, new))):
        for entry in (new if is_new else old).side.rulebook.told_of:
            tell("moves", known, 0)
            names = [name for name in entry.attributes if told.is_otherwise(entry, name)]
            if names:
                known += 1
                moves = sorted((move for name in names for move in told.shown(entry, name)), key=_size)
                yield ToldOtherwise(entry.id, is_new, moves[:1])


def _size(move: Move) -> int:
    return len(move.ways[0].part)


class _RuledOut:
    """Of which things a version lets its attributes not be told."""

    def __init__(self, comparer: Comparer, side: Side) -> None:
        self.side, self._parts = side, comparer.parts
        book = side.rulebook
        self._of: dict[tuple[str, str], list[Formula]] = {}
        for entry, name, when in outside(book.told_of, book.attributes):
            self._of.setdefault((entry.id, name), []).append(comparer.parts.when(when))

    def by(self, entry: str, name: str) -> Formula:
        """That a part is another thing than those of which an entry lets an attribute be told."""
        return self._parts.any_of(self._of.get((entry, name), ()))

    def of(self, name: str) -> Formula:
        """That a part is a thing of which an attribute cannot be told, by any entry."""
        return self._parts.any_of(
            each for (_, of), formulas in self._of.items() if of == name for each in formulas
        )


class _Told:
    """Looks for what one version rules out (`here`), and the other one does not (`there`)."""

    def __init__(self, comparer: Comparer, here: _RuledOut, there: _RuledOut) -> None:
        self._of, self._parts = comparer, comparer.parts
        self._here, self._there = here, there
        self._solver = comparer.parts.solver(here.side.can_be, there.side.can_be)

    def is_otherwise(self, entry: ToldOf, name: str) -> bool:
        """Whether an entry rules out anything that the other version lets be told of an attribute; of one
        that it does not know, nothing could."""
        if name not in self._there.side.rulebook.attributes:
            return False
        return self._some(self._claim(entry, name))

    def shown(self, entry: ToldOf, name: str) -> list[Move]:
        """Moves that show it, of a few grades; where none is of a grade, of what has none."""
        claim, none = self._claim(entry, name), self._there.side.none_decides
        graded = self._shown(z3.And(claim, z3.Not(none)), entry, name)
        return graded or self._shown(z3.And(claim, none), entry, name)

    def _claim(self, entry: ToldOf, name: str) -> Formula:
        return z3.And(self._here.by(entry.id, name), z3.Not(self._there.of(name)))

    def _some(self, claim: Formula) -> bool:
        self._solver.push()
        self._solver.add(claim)
        found = self._solver.check() == z3.sat
        self._solver.pop()
        return bool(found)

    def _shown(self, claim: Formula, entry: ToldOf, name: str) -> list[Move]:
        ends, ruled_out = self._of.ends[id(self._there.side)], self._here.by(entry.id, name)
        found: list[Move] = []
        self._solver.push()
        self._solver.add(claim)
        while len(found) < MOST_GRADES and self._solver.check() == z3.sat:
            model = self._solver.model()
            end = next(e for e, has in ends.items() if z3.is_true(model.eval(has, model_completion=True)))
            part = self._description(model, name, ruled_out, ends[end])
            also = [self._not_told(model, other) for other in part if other != name]
            fits = [each for each in also if each is not None]
            if fits:  # of this part something else could not be told: of another one it can, or is not needed
                self._solver.add(*fits)
            else:
                self._solver.add(z3.Not(ends[end]))
                found.append(self._move(model, part, end, entry.id))
        self._solver.pop()
        return found

    def _not_told(self, model: Formula, name: str) -> Formula | None:
        """That a part is a thing of which something can be told by both versions; None: it is."""
        cannot = z3.Or(self._here.of(name), self._there.of(name))
        ruled_out = z3.is_true(model.eval(cannot, model_completion=True))
        return z3.Not(cannot) if ruled_out else None

    def _description(self, model: Formula, name: str, ruled_out: Formula, ends: Formula) -> Part:
        """What is needed of a part so that the other version answers so, and this one contradicts it."""
        value = self._parts.value(name, self._parts.read(model)[name])
        counter = z3.And(
            self._parts.one_of({name: [value]}),
            z3.Or(
                z3.And(self._there.side.can_be, z3.Not(ends)),
                z3.And(self._here.side.can_be, z3.Not(ruled_out)),
            ),
        )
        part = {**self._of.smallest.within(model, counter), name: value}
        return {each: part[each] for each in self._parts.attributes if each in part}

    def _move(self, model: Formula, part: Part, end: End, by: str) -> Move:
        of = self._of
        is_new = self._here.side is of.new
        came, goes = (end, CANNOT_BE) if is_new else (CANNOT_BE, end)
        along = {name: [value] for name, value in part.items()}
        words = ranges(self._parts.axes, of.attributes, along, of.writing.given)
        number = self._there.side.deciding(model)
        rule = None if number is None else self._there.side.rulebook.rules[number].id
        before, after = (rule, None) if is_new else (None, rule)
        says = sentence(of.old_book, of.new_book, came, goes, words)
        return Move(came, goes, [Way(before, after, of.writing.part(part), words, says, by)], all_ways=False)
