"""Measures in their order: what is out of order cannot be, and what is known of one narrows the others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.core.rulebooks import attribute, conditions, first_match, parts, reachable, rulebook

from gradewright.core.grading import Contradiction, Graded, Grader, Outcome, Undecided, Ungraded
from gradewright.core.observations import Kind, Value
from gradewright.core.rulebook import Bound, Condition, LargestFirst, Rulebook, When

LENGTHS = [attribute(name, Kind.LENGTH) for name in ("long", "wide", "thick")]
FORM = attribute("form", Kind.CHOICE, ("bar", "sheet"))
ORDER = LargestFirst("order", ("long", "wide", "thick"), "The longest side is the longest.", "-")


def of(rules: Sequence[tuple[When, str]], impossible: list[When] | None = None) -> Rulebook:
    """A rulebook over three sides and a form, whose sides are in their order."""
    return replace(rulebook([*LENGTHS, FORM], list(rules), impossible), largest_first=(ORDER,))


@st.composite
def books(draw: st.DrawFn) -> Rulebook:
    """Up to six rules and two impossible descriptions of sides."""
    whens = st.lists(st.sampled_from([*LENGTHS, FORM]), min_size=1, max_size=3, unique_by=lambda a: a.name)
    clauses = whens.flatmap(lambda chosen: st.tuples(*(conditions(a) for a in chosen)))
    rules = draw(st.lists(st.tuples(clauses, st.sampled_from(["g0", "g1", "g2"])), min_size=1, max_size=6))
    return of(rules, draw(st.lists(clauses, max_size=2)))


def reached(outcome: Outcome) -> set[str | None]:
    """The grades that an outcome leaves."""
    if isinstance(outcome, Graded):
        return {outcome.grade}
    if isinstance(outcome, Undecided):
        return {*outcome.candidates, *([None] if outcome.may_be_ungraded else [])}
    return {None} if isinstance(outcome, Ungraded) else set()


@given(st.data())
@settings(max_examples=60)
def test_candidates_are_what_parts_in_order_are_graded_as(data: st.DataObject) -> None:
    """Exactly the grades of the completions whose sides are in their order; of none, a contradiction."""
    book = data.draw(books())
    part = data.draw(parts(book))
    outcome = Grader(book).grade(part)
    assert reached(outcome) == reachable(book, part)
    assert isinstance(outcome, Contradiction) == (not reachable(book, part))


def at_least(name: str, value: str) -> Condition:
    """That a side is at least so long."""
    return Condition(name, at_least=Bound(Decimal(value), value))


RULES: list[tuple[When, str]] = [
    ((at_least("long", "5"),), "g0"),
    ((at_least("long", "0.1"),), "g1"),
    ((), "g2"),
]


@pytest.mark.parametrize(
    ("part", "grade"),
    [
        ({"wide": "6"}, "g0"),
        ({"wide": "5"}, "g0"),
        ({"thick": "5"}, "g0"),
        ({"wide": "4.9"}, None),
        ({"wide": "0.2"}, None),
    ],
)
def test_a_side_says_how_long_another_is_at_least(part: dict[str, str], grade: str | None) -> None:
    """What is as wide as the rule asks of its length is as long, and is graded without being measured."""
    found = Grader(of(RULES)).grade({name: Decimal(value) for name, value in part.items()})
    assert (found.grade if isinstance(found, Graded) else None) == grade


@pytest.mark.parametrize(
    "part",
    [
        {"long": "4", "wide": "6"},
        {"long": "6", "wide": "6.1"},  # no rule tells these two apart
        {"long": "6", "thick": "7"},
        {"long": "9", "wide": "6", "thick": "6.5"},
    ],
)
def test_sides_out_of_order_are_named(part: dict[str, Any]) -> None:
    """A side that is more than one before it is a contradiction by the order's name and reason, told once."""
    observed: dict[str, Value] = {name: Decimal(value) for name, value in part.items()}
    found = Grader(of(RULES)).grade(observed)
    assert isinstance(found, Contradiction)
    assert [(entry.id, entry.because) for entry in found.impossible] == [(ORDER.id, ORDER.because)]


def test_sides_that_are_alike_are_in_order() -> None:
    """A cube can be."""
    cube: dict[str, Value] = dict.fromkeys(("long", "wide", "thick"), Decimal(6))
    assert first_match(of(RULES), {**cube, "form": "bar"}) == "g0"
    assert isinstance(Grader(of(RULES)).grade(cube), Graded)


def test_a_rulebook_without_orders_is_compiled_as_before() -> None:
    """Where no measures are in order, no clause is added, and no bit."""
    book = replace(of(RULES), largest_first=())
    index = Grader(book).index
    assert index.unordered_bits == 0
    assert len(index.clauses) == len(RULES)
    assert index.all_bits == (1 << len(RULES)) - 1
