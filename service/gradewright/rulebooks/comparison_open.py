"""Moves of descriptions that leave something open which follows from the rest of them by what is impossible:
whether a strand is thin as hair, of one of which the diameter is told.

Where the line between the two moves, no whole part moves from grade to grade: told that it is thin, it cannot
be so thick any more. But people tell the diameter alone, and get another grade for it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import z3

from gradewright.core.observations import Kind, Value
from gradewright.core.rulebook import Rulebook, When
from gradewright.rulebooks.comparer import Comparer, End, Move, Progress, Way
from gradewright.rulebooks.comparison_words import ranges, sentence
from gradewright.rulebooks.smallest import reasons
from gradewright.rulebooks.solving import Formula, Side

MOST_VALUES = 4


def left_open(comparer: Comparer, tell: Progress, known: Sequence[tuple[End, End]]) -> Iterator[Move]:
    """Every pair of grades between which such a description moves, and no whole part does; `known`: the moves
    of those."""
    told = set(known)
    for name in sorted(comparer.ruled_out()):
        attribute = comparer.attributes[name]
        values: tuple[Value, ...] = tuple(attribute.choices) or (True, False)
        if attribute.kind in (Kind.CHOICE, Kind.YES_NO) and len(values) <= MOST_VALUES:
            for move in _LeftOpen(comparer, name, values).moves(told):
                tell("moves", len(told), 0)
                told.add((move.before, move.after))
                yield move


class _LeftOpen:
    """Both versions, of parts of which one attribute may have any value that it can have by each."""

    def __init__(self, comparer: Comparer, name: str, values: Sequence[Value]) -> None:
        self._comparer, self._name = comparer, name
        self._olds, self._news = (
            [Side(of.parts, _known(of.rulebook, name, value), of.describable) for value in values]
            for of in (comparer.old, comparer.new)
        )
        self._before = self._ends(comparer.old, self._olds)
        self._after = self._ends(comparer.new, self._news)

    def _ends(self, side: Side, each: Sequence[Side]) -> dict[End, Formula]:
        """That a part is of a grade, whatever the attribute is of all that it can be."""
        parts, name = side.parts, self._name
        can_be = [parts.define(of.can_be, f"{name} can be") for of in each]
        by_value = [_graded(of) for of in each]
        some = parts.any_of(can_be)
        found = {}
        for grade in dict.fromkeys(rule.grade for rule in side.rulebook.rules):
            all_so = parts.all_of(
                z3.Or(z3.Not(can), parts.any_of(graded.get(grade, ())))
                for can, graded in zip(can_be, by_value, strict=True)
            )
            found[End("grade", grade)] = parts.define(z3.And(some, all_so), f"{grade}, {name} open")
        return found

    def moves(self, known: set[tuple[End, End]]) -> Iterator[Move]:
        """Each pair of grades that is not known, with a description that shows it."""
        comparer, parts = self._comparer, self._comparer.parts
        solver = parts.solver(
            parts.any_of(self._before.values()),
            parts.any_of(self._after.values()),
            z3.Not(comparer.ends_alike(self._before, self._after)),
        )
        for came, goes in known:
            if came in self._before and goes in self._after:
                solver.add(z3.Not(z3.And(self._before[came], self._after[goes])))
        while solver.check() == z3.sat:
            model = solver.model()
            came, goes = comparer.end_of(self._before, model), comparer.end_of(self._after, model)
            both = z3.And(self._before[came], self._after[goes])
            solver.add(z3.Not(both))
            way = self._way(came, goes, both, model)
            if way is not None:
                yield Move(came, goes, [way], all_ways=False)

    def _way(self, came: End, goes: End, both: Formula, model: Formula) -> Way | None:
        """A description of which nothing can be spared, without the attribute; None where it has to be
        told."""
        comparer, axes = self._comparer, self._comparer.parts.axes
        cells = {name: cell for name, cell in comparer.parts.read(model).items() if name != self._name}
        counter = comparer.counter(came, goes)
        against = comparer.parts.solver(counter)
        if against.check(comparer.smallest.seen(cells.items())) != z3.unsat:
            return None
        names = reasons(comparer.smallest, against, cells)
        part = {
            name: comparer.parts.value(name, cells[name]) for name in comparer.attributes if name in names
        }
        box = comparer.smallest.widened(part, both, counter)
        along = {name: sorted(box[name], key=axes[name].cells.index) for name in part}
        words = ranges(axes, comparer.attributes, along, comparer.writing.given)
        says = sentence(comparer.old_book, comparer.new_book, came, goes, words)
        was, now = (_deciding(sides, model) for sides in (self._olds, self._news))
        return Way(was, now, comparer.writing.part(part), words, says)


def _known(book: Rulebook, name: str, value: Value) -> Rulebook:
    """A version of parts of which an attribute is known to have a value: nothing asks for it any more."""

    def asked(when: When) -> When | None:
        if any(c.attribute == name and not c.holds(value) for c in when):
            return None
        return tuple(c for c in when if c.attribute != name)

    rules = ((rule, asked(rule.when)) for rule in book.rules)
    entries = ((entry, asked(entry.when)) for entry in book.impossible)
    return replace(
        book,
        rules=tuple(replace(rule, when=when) for rule, when in rules if when is not None),
        impossible=tuple(replace(entry, when=when) for entry, when in entries if when is not None),
    )


def _deciding(sides: Sequence[Side], model: Formula) -> str | None:
    """The rule that decides about the part that a model is, by a value that it can have."""
    decided = ((side, side.deciding(model)) for side in sides)
    return next((side.rulebook.rules[number].id for side, number in decided if number is not None), None)


def _graded(side: Side) -> Mapping[str, list[Formula]]:
    """By grade that a rule which gives it decides."""
    found: dict[str, list[Formula]] = {}
    for rule, decides in zip(side.rulebook.rules, side.decides, strict=True):
        found.setdefault(rule.grade, []).append(decides)
    return found
