"""The cautions that can still concern a part, held against every way in which it could turn out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st
from tests.core import rulebooks as random_books

from gradewright.core.grading import Grader
from gradewright.core.observations import Value
from gradewright.core.rulebook import Caution, Rulebook, When

Part = dict[str, Value]


@st.composite
def cautioned_books_and_parts(draw: st.DrawFn) -> tuple[Rulebook, Part]:
    """A random rulebook with up to four cautions of any form, and a part of it."""
    book = draw(random_books.rulebooks(most=4))
    whens = st.lists(
        st.sampled_from(list(book.attributes.values())), min_size=1, max_size=2, unique_by=lambda a: a.name
    ).flatmap(lambda chosen: st.tuples(*map(random_books.conditions, chosen)))
    cautions = {}
    for number in range(draw(st.integers(1, 4))):
        name = f"c{number}"
        when, unless = (tuple(draw(st.lists(whens, max_size=2))) for _ in range(2))
        grades = frozenset(draw(st.lists(st.sampled_from(sorted(book.grades)), max_size=2)))
        cautions[name] = Caution(name, name, "-", "-", when, unless, grades)
    return replace(book, cautions=cautions), draw(random_books.parts(book))


def met(when: When, whole: Mapping[str, Value]) -> bool:
    return all(condition.holds(whole[condition.attribute]) for condition in when)


def applies(caution: Caution, book: Rulebook, whole: Mapping[str, Value]) -> bool:
    """Whether a caution concerns a part of which everything is known."""
    grade = random_books.first_match(book, whole)
    if any(met(unless, whole) for unless in caution.unless):
        return False
    return grade in caution.grades or any(met(when, whole) for when in caution.when)


@given(cautioned_books_and_parts())
@settings(max_examples=150)
def test_what_is_shown_is_what_can_still_apply(case: tuple[Rulebook, Part]) -> None:
    """A caution that may apply does so for some completion of the part; one that cannot is never shown; and
    one that does for some completion is shown, where its grade is left or what is known points to it.
    """
    book, part = case
    grader = Grader(book)
    found = grader.concerning(grader.read(part), None)
    wholes = [w for w in random_books.completions(book, part) if random_books.first_match(book, w) != "!"]
    if not wholes:
        assert found.possible == ()
        return
    ends = {random_books.first_match(book, whole) for whole in wholes}
    ruling = {
        condition.attribute
        for whole in wholes
        for rule in [next((rule for rule in book.rules if met(rule.when, whole)), None)]
        if rule is not None
        for condition in rule.when
    }
    for caution in book.cautions.values():
        can = any(applies(caution, book, whole) for whole in wholes)
        if caution in found.possible:
            assert can, "shown, and cannot apply"
        if caution not in found.all:
            assert not any(applies(caution, book, w) for w in wholes if pointed_at(caution, w, ruling, part))
            assert not (ends & caution.grades and can and not caution.when)
        if caution in found.certain and not caution.unless:
            assert all(applies(caution, book, whole) for whole in wholes)


def pointed_at(caution: Caution, whole: Mapping[str, Value], ruling: set[str], part: Part) -> bool:
    """Whether an alternative that holds asks for something known, or that a rule which decides asks for."""
    return any(
        met(when, whole) and any(c.attribute in part or c.attribute in ruling for c in when)
        for when in caution.when
    )


@given(cautioned_books_and_parts())
@settings(max_examples=100)
def test_what_is_told_of_a_decided_part_is_told_of_it_before(case: tuple[Rulebook, Part]) -> None:
    """What concerns a part with its grade known for certain has been shown all along, or nothing pointed
    to it; and what was certain is certain still, or excepted.
    """
    book, part = case
    grader = Grader(book)
    before = grader.concerning(grader.read(part), None)
    for whole in random_books.completions(book, part):
        if random_books.first_match(book, whole) == "!":
            continue
        after = grader.concerning(grader.read(whole), None)
        assert after.possible == ()
        assert set(after.certain) == {c for c in book.cautions.values() if applies(c, book, whole)}
        gone = {c for c in before.certain if c not in after.certain}
        assert all(any(met(unless, whole) for unless in caution.unless) for caution in gone)
