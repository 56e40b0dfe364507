"""What changes between two versions, held against every part that small ones can describe."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any
from unittest import mock

import pytest
import z3
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.core import rulebooks as small

from gradewright.core.observations import Attribute, Kind, Value
from gradewright.core.rulebook import Condition, Grade, Rule, Rulebook, When
from gradewright.rulebooks import comparer
from gradewright.rulebooks.comparer import End, Move
from gradewright.rulebooks.comparison import moves

slow = settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])


@st.composite
def edited(draw: st.DrawFn, book: Rulebook) -> Rulebook:
    """The rulebook after one to three edits of its rules, of what is impossible, or of its choices."""
    names = ["g0", "g1", "g2", "g3"]
    book = replace(book, grades={name: Grade(name, name, "any", "-") for name in names})
    for number in range(draw(st.integers(1, 3))):
        rules, impossible = list(book.rules), list(book.impossible)
        match draw(st.sampled_from(["drop", "add", "move", "regrade", "rewrite", "allow"])):
            case "drop" if len(rules) > 1:
                rules.pop(draw(st.integers(0, len(rules) - 1)))
            case "add":
                rules.insert(draw(st.integers(0, len(rules))), _rule(draw, book, f"n{number}"))
            case "move":
                rules.insert(draw(st.integers(0, len(rules) - 1)), rules.pop())
            case "regrade":
                at = draw(st.integers(0, len(rules) - 1))
                rules[at] = replace(rules[at], grade=draw(st.sampled_from(names)))
            case "rewrite":
                at = draw(st.integers(0, len(rules) - 1))
                rules[at] = replace(_rule(draw, book, rules[at].id), grade=rules[at].grade)
            case "allow" if impossible:
                impossible.pop(draw(st.integers(0, len(impossible) - 1)))
        book = replace(book, rules=tuple(rules), impossible=tuple(impossible))
    return book


def _rule(draw: st.DrawFn, book: Rulebook, name: str) -> Rule:
    attribute = draw(st.sampled_from(sorted(book.attributes.values(), key=lambda each: each.name)))
    when = (draw(small.conditions(attribute)),)
    return Rule(name, draw(st.sampled_from(["g0", "g1"])), when, "-", "-", "published")


@st.composite
def versions(draw: st.DrawFn, most: int = 4) -> tuple[Rulebook, Rulebook]:
    """Two versions, of which the later has other rules; now and then other words as well."""
    plain = draw(st.booleans())
    count = most if plain else max(1, most - 2)  # another kind makes two attributes of one
    old = draw(small.rulebooks(count))
    if plain:
        return old, draw(edited(old))
    asked, otherwise = (small.attribute("spare", *draw(st.sampled_from(SPARE))) for _ in range(2))
    new = draw(edited(old))
    return _with(draw, old, asked), _with(draw, new, otherwise)


SPARE: list[tuple[Kind, tuple[str, ...]]] = [
    (Kind.YES_NO, ()),
    (Kind.CHOICE, ("red", "white")),
    (Kind.CHOICE, ("red", "green", "white")),
    (Kind.SHARE, ()),
]


def _with(draw: st.DrawFn, book: Rulebook, asked: Attribute) -> Rulebook:
    """The rulebook with an attribute more and a rule that asks for it."""
    rules, when = list(book.rules), (draw(small.conditions(asked)),)
    grade = draw(st.sampled_from(sorted(book.grades)))
    rules.insert(draw(st.integers(0, len(rules))), Rule("spare", grade, when, "-", "-", "published"))
    return replace(book, rules=tuple(rules), attributes={**book.attributes, asked.name: asked})


# Both versions are asked about every part that one of them can describe.


def described(old: Rulebook, new: Rulebook) -> dict[str, list[tuple[str | None, str | None, Value]]]:
    """For every attribute its values, each with the name under which the two versions know it."""
    found: dict[str, list[tuple[str | None, str | None, Value]]] = {}
    for name in dict.fromkeys((*old.attributes, *new.attributes)):
        before, after = old.attributes[name], new.attributes[name]
        if before.kind is after.kind:
            values = [
                *small.points(before),
                *(v for v in small.points(after) if v not in small.points(before)),
            ]
            found[name] = [(name, name, value) for value in values]
        else:
            found[f"{name} before"] = [(name, None, value) for value in small.points(before)]
            found[name] = [(None, name, value) for value in small.points(after)]
    return found


Told = Mapping[str, tuple[str | None, str | None, Value]]


def seen_by(book: Rulebook, told: Told, side: int) -> dict[str, Value]:
    """What of a description one version knows."""
    return {str(each[side]): each[2] for each in told.values() if each[side] is not None}


def end(book: Rulebook, part: Mapping[str, Value]) -> tuple[End, str | None]:
    """What a version says of a whole part, and by which rule."""
    for name, value in part.items():
        if book.attributes[name].kind is Kind.CHOICE and value not in book.attributes[name].choices:
            return End("not-described"), None

    def met(when: When) -> bool:
        return all(condition.holds(part[condition.attribute]) for condition in when)

    if any(met(entry.when) for entry in book.impossible) or not small.in_order(book, part):
        return End("contradiction"), None
    for rule in book.rules:
        if met(rule.when):
            return End("grade", rule.grade), rule.id
    return End("no-grade"), None


def wholes(old: Rulebook, new: Rulebook, told: Told | None = None) -> Iterator[Told]:
    """All completions of a description."""
    told = told or {}
    axes = {name: values for name, values in described(old, new).items() if name not in told}
    for values in itertools.product(*axes.values()):
        yield {**told, **dict(zip(axes, values, strict=True))}


def shows(old: Rulebook, new: Rulebook, told: Told, came: End, goes: End) -> bool:
    """Whether a description is answered so by both: by all completions that each of them thinks can be."""
    some = False
    for whole in wholes(old, new, told):
        before, _ = end(old, seen_by(old, whole, 0))
        after, _ = end(new, seen_by(new, whole, 1))
        some = some or (before, after) == (came, goes)
        for found, wanted in ((before, came), (after, goes)):
            ignored = {"not-described", "contradiction"} - (
                {"contradiction"} if wanted.answered == "not-described" else set()
            )
            if found != wanted and found.answered not in ignored:
                return False
    return some


def as_told(old: Rulebook, new: Rulebook, part: Mapping[str, object]) -> Told:
    """The description of a way, by the values that versions tell apart."""
    found = {}
    for name, values in described(old, new).items():
        before, after, _ = values[0]
        written = part.get(name.replace(" ", "_"))
        if written is not None:
            attribute = old.attributes[before] if before and not after else new.attributes[str(after)]
            known = [each for each in values if attribute.show(each[2]) == str(written) or each[2] is written]
            alike = known or [each for each in values if _alike(attribute, each[2], attribute.read(written))]
            found[name] = alike[0]
    return found


def _alike(attribute: Attribute, one: Any, other: Any) -> bool:
    """Whether no cut tells two measures apart: the one that is gone through stands for the one in words."""
    return all((one < cut, one == cut) == (other < cut, other == cut) for cut in small.CUTS[attribute.kind])


@slow
@given(st.data())
def test_every_move_is_found_and_none_that_is_none(data: st.DataObject) -> None:
    """Over all parts: the moves between grades, and the rules on both sides of each, are just those told."""
    old, new = data.draw(versions())
    wanted: dict[tuple[End, End], set[tuple[str | None, str | None]]] = {}
    for whole in wholes(old, new):
        before, by = end(old, seen_by(old, whole, 0))
        after, then = end(new, seen_by(new, whole, 1))
        if before != after:
            wanted.setdefault((before, after), set()).add((by, then))
    found = moves(old, new)
    assert {(move.before, move.after) for move in found} == set(wanted)
    for move in found:
        pairs = {(way.rule_before, way.rule_after) for way in move.ways}
        assert len(pairs) == len(move.ways)
        assert pairs <= wanted[move.before, move.after]
        assert move.all_ways == (pairs == wanted[move.before, move.after])


@settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(st.data())
def test_each_move_is_shown_by_the_smallest_description(data: st.DataObject) -> None:
    """The description of a way is answered so by both versions, and no smaller one is."""
    old, new = data.draw(versions(most=3))
    for move in moves(old, new):
        for way in move.ways:
            told = as_told(old, new, way.part)
            assert shows(old, new, told, move.before, move.after), (way.part, told)
        if move.all_ways:
            assert len(move.ways[0].part) == _smallest(old, new, move)


@settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(st.data())
def test_of_many_that_cannot_be_each_is_shown_by_what_nothing_can_be_spared_of(data: st.DataObject) -> None:
    """Where the smallest is not looked for, all moves are found all the same; what shows one is answered so
    by both versions, and is not any more with one observation less.
    """
    old, new = data.draw(versions(most=3))
    with mock.patch.object(comparer, "MOST_LOOKED_FOR", 0):
        found = moves(old, new)
    assert {(m.before, m.after) for m in found} == {(m.before, m.after) for m in moves(old, new)}
    for move in found:
        if comparer.CANNOT_BE in (move.before, move.after):
            [way] = move.ways
            told = as_told(old, new, way.part)
            assert shows(old, new, told, move.before, move.after), (way.part, told)
            for name in told:
                fewer = {other: told[other] for other in told if other != name}
                assert not shows(old, new, fewer, move.before, move.after), (way.part, name)


@pytest.mark.parametrize("rules", [1, 2])
def test_whether_one_way_is_all_there_is_of_a_move(rules: int) -> None:
    """Of a move that is shown by one part: only where one rule alone decides about all such parts."""
    kind = small.attribute("metal", Kind.CHOICE, ("copper", "tin", "zinc"))
    some = [((Condition("metal", (value,)),), "g0") for value in ("copper", "tin")[:rules]]
    rest = ((), "g2")
    before = _with_grades(
        small.rulebook([kind], [((Condition("metal", ("copper", "tin")[:rules]),), "g1"), rest])
    )
    after = _with_grades(small.rulebook([kind], [*some, rest]))
    comparing = comparer.Comparer(before, after, {})
    [(came, goes, both, model)] = comparing.pairs_of_ends(z3.Not(comparing.same))
    assert (came.grade, goes.grade) == ("g1", "g0")
    assert comparing.shown(came, goes, both, model).all_ways is (rules == 1)


def _with_grades(book: Rulebook) -> Rulebook:
    names = ("g0", "g1", "g2")
    return replace(book, grades={name: Grade(name, name, "any", "-") for name in names})


def _smallest(old: Rulebook, new: Rulebook, move: Move) -> int:
    axes = described(old, new)
    for size in range(len(axes) + 1):
        for names in itertools.combinations(axes, size):
            for values in itertools.product(*(axes[name] for name in names)):
                if shows(old, new, dict(zip(names, values, strict=True)), move.before, move.after):
                    return size
    raise AssertionError("nothing shows it")
