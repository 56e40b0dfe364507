"""Pairs of small rulebooks of sides, and what moves between them: by trying every part, of which sides differ
also where no clause tells them apart."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from random import Random
from typing import Any

from tests.core.rulebooks import attribute, in_order, rulebook

from gradewright.core.house_limits import HouseLimit, under
from gradewright.core.observations import Attribute, Kind, Value
from gradewright.core.rulebook import (
    Bound,
    Condition,
    Grade,
    Impossible,
    LargestFirst,
    Limit,
    Rulebook,
    When,
)
from gradewright.rulebooks.comparer import End, Way

Part = Mapping[str, Value]
SIDES = ("long", "wide", "thick")
FORMS = ("red", "white", "grey")
GRADES = ("g0", "g1", "g2")
MARKS = (Decimal(1), Decimal("6.35"))
ENDS = ("at_least", "above", "at_most", "below")


def pair(chance: Random) -> tuple[Rulebook, Rulebook]:
    """Two versions: orders, rules, forms and what is impossible come and go."""
    sides = SIDES[: chance.randint(2, 3)]
    asked = [*(attribute(name, Kind.LENGTH) for name in sides), attribute("form", Kind.CHOICE, FORMS)]
    marks = MARKS[: chance.randint(0, 2)]
    rules = [(_when(chance, asked, marks), chance.choice(GRADES)) for _ in range(chance.randint(1, 4))]
    cannot = [_when(chance, asked, marks) for _ in range(chance.choice([0, 0, 1]))]
    book = replace(
        rulebook(asked, rules, cannot), grades={name: Grade(name, name, "any", "-") for name in GRADES}
    )
    old = _with_order(chance, book, sides)
    new = _with_order(chance, _edited(chance, book, asked, marks) if chance.random() < 0.5 else book, sides)
    if chance.random() < 0.3:
        old = _of_fewer_forms(chance, old)
    return old, new


def with_limits(chance: Random) -> tuple[Rulebook, Rulebook]:
    """Two versions of two sides and a form whose rules ask for limits: another one draws a line, or none, or
    rules stand otherwise."""
    sides = [attribute(name, Kind.LENGTH) for name in SIDES[:2]]
    asked = [*sides, attribute("form", Kind.CHOICE, FORMS)]
    rules = [(_when(chance, asked, MARKS), chance.choice(GRADES)) for _ in range(chance.randint(1, 4))]
    cannot = [_when(chance, asked, MARKS) for _ in range(chance.choice([0, 0, 1]))]
    value = dict(zip(("one", "other", "third"), (MARKS[0], *MARKS), strict=True))
    limits = {name: Limit(name, mark, f"{mark} mm", "-", "-") for name, mark in value.items()}
    book = replace(
        rulebook(asked, rules, cannot),
        limits=limits,
        grades={name: Grade(name, name, "any", "-") for name in GRADES},
    )
    if chance.random() < 0.3:
        book = replace(book, largest_first=(LargestFirst("order", SIDES[:2], "-", "-"),))
    old = _by_limits(chance, book)
    new = _by_limits(chance, book) if chance.random() < 0.5 else old
    if len(new.rules) > 1 and chance.random() < 0.5:
        new = replace(new, rules=tuple(chance.sample(new.rules, len(new.rules))))
    return old, new


def _by_limits(chance: Random, book: Rulebook) -> Rulebook:
    """The same with some lines drawn by limits of their values."""

    def bound(given: Bound | None) -> Bound | None:
        named = [None, *(name for name, each in book.limits.items() if given and each.value == given.value)]
        return given and replace(given, limit=chance.choice(named))

    def when(conditions: When) -> When:
        found = []
        for condition in conditions:
            ends: dict[str, Any] = {end: bound(getattr(condition, end)) for end in ENDS}
            found.append(replace(condition, **ends))
        return tuple(found)

    return replace(
        book,
        rules=tuple(replace(rule, when=when(rule.when)) for rule in book.rules),
        impossible=tuple(replace(entry, when=when(entry.when)) for entry in book.impossible),
    )


def _when(chance: Random, asked: Sequence[Attribute], marks: Sequence[Decimal]) -> When:
    usable = [each for each in asked if each.kind is Kind.CHOICE or marks]
    chosen = chance.sample(usable, chance.randint(1, min(2, len(usable))))
    return tuple(_condition(chance, each, marks) for each in chosen)


def _condition(chance: Random, asked: Attribute, marks: Sequence[Decimal]) -> Condition:
    if asked.kind is Kind.CHOICE:
        return Condition(asked.name, tuple(chance.sample(FORMS, chance.randint(1, 2))))
    mark = chance.choice(marks)
    asks: dict[str, Any] = {chance.choice(ENDS): Bound(mark, f"{mark} mm")}
    return Condition(asked.name, **asks)


def _edited(chance: Random, book: Rulebook, asked: Sequence[Attribute], marks: Sequence[Decimal]) -> Rulebook:
    match chance.choice(["regrade", "rewrite", "drop", "rule out"]):
        case "regrade":
            first, *others = book.rules
            return replace(book, rules=(replace(first, grade=chance.choice(GRADES)), *others))
        case "rewrite":
            *others, last = book.rules
            return replace(book, rules=(*others, replace(last, when=_when(chance, asked, marks))))
        case "drop" if len(book.rules) > 1:
            return replace(book, rules=book.rules[1:])
    cannot = Impossible("more", _when(chance, asked, marks), "-", "-")
    return replace(book, impossible=(*book.impossible, cannot))


def _with_order(chance: Random, book: Rulebook, sides: Sequence[str]) -> Rulebook:
    count = chance.choice([0, 2, len(sides)])
    measures = tuple(chance.sample(sides, count))
    return replace(book, largest_first=(LargestFirst("order", measures, "-", "-"),)) if count else book


def _of_fewer_forms(chance: Random, book: Rulebook) -> Rulebook:
    """The same without a word for one form: rules that ask for it ask for the others."""
    gone = chance.choice(FORMS)

    def without(when: When) -> When | None:
        left = tuple(replace(c, values=tuple(v for v in c.values if v != gone)) for c in when)
        asked = zip(when, left, strict=True)
        return None if any(was.values and not now.values for was, now in asked) else left

    rules = [(rule, without(rule.when)) for rule in book.rules]
    cannot = [(entry, without(entry.when)) for entry in book.impossible]
    kept = attribute("form", Kind.CHOICE, tuple(each for each in FORMS if each != gone))
    return replace(
        book,
        attributes={**book.attributes, "form": kept},
        rules=tuple(replace(rule, when=when) for rule, when in rules if when is not None),
        impossible=tuple(replace(entry, when=when) for entry, when in cannot if when is not None),
    )


def end(book: Rulebook, part: Part) -> End:
    """What a version says of a whole part."""
    if part["form"] not in book.attributes["form"].choices:
        return End("not-described")
    if any(_met(entry.when, part) for entry in book.impossible) or not in_order(book, part):
        return End("contradiction")
    grade = next((rule.grade for rule in book.rules if _met(rule.when, part)), None)
    return End("no-grade") if grade is None else End("grade", grade)


def _met(when: When, part: Part) -> bool:
    return all(condition.holds(part[condition.attribute]) for condition in when)


@dataclass(frozen=True)
class Tried:
    """Two versions, tried with every part."""

    old: Rulebook
    new: Rulebook

    def wholes(self, told: Part) -> Iterator[Part]:
        """Every part that a description fits: in each gap as many lengths as there are sides."""
        sides = [name for name, each in self.old.attributes.items() if each.kind is Kind.LENGTH]
        books = (self.old, self.new)
        whens = [rule.when for book in books for rule in book.rules]
        whens += [entry.when for book in books for entry in book.impossible]
        marks = {cut for when in whens for condition in when for cut in condition.cuts()}
        marks |= {value for value in told.values() if isinstance(value, Decimal)}
        lengths = list(_lengths(sorted(Decimal(str(mark)) for mark in marks), len(sides)))
        axes = [[told[name]] if name in told else lengths for name in sides]
        forms = [told["form"]] if "form" in told else list(FORMS)
        for *values, form in itertools.product(*axes, forms):
            yield {**dict(zip(sides, values, strict=True)), "form": form}

    def moves(self) -> set[tuple[End, End]]:
        """Between what some part moves."""
        found = {(end(self.old, part), end(self.new, part)) for part in self.wholes({})}
        return {(came, goes) for came, goes in found if came != goes}

    def at_places(self) -> dict[str, set[tuple[End, End]]]:
        """The limits of which another value, at a place, moves some part that does not move otherwise, or as
        none does, and how; all of them where none does alone. Where parts move anyway: of what has a grade
        there by the first version; where such parts cannot be told any more anyway: what still can be.
        """
        marks = sorted(
            {limit.value for limit in self.old.limits.values() if isinstance(limit.value, Decimal)}
        )
        values, names = list(_lengths(marks, 2)), list(self.old.limits)
        alone = {name: set().union(*(self._moved_by({name: value}) for value in values)) for name in names}
        if any(alone.values()):
            return {name: moves for name, moves in alone.items() if moves}
        every = itertools.product(values, repeat=len(names))
        together = set().union(*(self._moved_by(dict(zip(names, each, strict=True))) for each in every))
        return dict.fromkeys(names, together) if together else {}

    def _moved_by(self, said: Mapping[str, Decimal]) -> set[tuple[End, End]]:
        limits = [HouseLimit(name, f"{value} mm", "-", "-", date.min) for name, value in said.items()]
        there, own = zip(*(under(book, limits) for book in (self.old, self.new)), strict=True)
        assert all(each.given == f"{said[name]} mm" for known in own for name, each in known.items())
        anyway = self.moves()
        told = {"grade", "no-grade"}
        lost = any(came.grade is not None and goes.answered not in told for came, goes in anyway)
        found = {
            (end(there[0], part), end(there[1], part), bool(was.grade) and was == end(self.new, part))
            for part in self._with_marks(there)
            for was in (end(self.old, part),)
        }
        return {
            (came, goes)
            for came, goes, stays in found
            if came != goes
            and (stays or (came, goes) not in anyway)
            and (came.grade or not anyway)
            and (goes.answered in told or not lost)
        }

    def _with_marks(self, there: Sequence[Rulebook]) -> Iterator[Part]:
        """Parts that any of both can tell apart, by their own limits and by a place's."""
        books = (self.old, self.new, *there)
        cuts = {
            cut
            for book in books
            for rule in book.rules
            for condition in rule.when
            for cut in condition.cuts()
        }
        cuts |= {cut for book in books for entry in book.impossible for c in entry.when for cut in c.cuts()}
        sides = [name for name, each in self.old.attributes.items() if each.kind is Kind.LENGTH]
        lengths = list(_lengths(sorted(Decimal(str(cut)) for cut in cuts), len(sides)))
        for *values, form in itertools.product(*[lengths] * len(sides), FORMS):
            yield {**dict(zip(sides, values, strict=True)), "form": form}

    def shows(self, told: Part, came: End, goes: End) -> bool:
        """Whether what completes a description, and can be, is answered so by each; and some part by both."""
        some = False
        for part in self.wholes(told):
            both = end(self.old, part), end(self.new, part)
            some = some or both == (came, goes)
            for found, wanted in zip(both, (came, goes), strict=True):
                ignored = {"not-described", "contradiction"}
                if wanted.answered == "not-described":
                    ignored = {"not-described"}
                if found != wanted and found.answered not in ignored:
                    return False
        return some

    def read(self, way: Way) -> Part:
        """The description by which a way is shown."""
        sides = {**self.old.attributes, "form": attribute("form", Kind.CHOICE, FORMS)}
        return {name: sides[name].read(value) for name, value in way.part.items()}


def _lengths(marks: Sequence[Decimal], count: int) -> Iterator[Decimal]:
    """Each mark, and so many lengths in each gap between them, before the first and behind the last."""
    for before, after in itertools.pairwise([Decimal(0), *marks, (marks[-1] if marks else 0) + Decimal(8)]):
        yield from (round(before + (after - before) * n / (count + 1), 3) for n in range(1, count + 1))
        if after in marks:
            yield after
