"""Grading by the decision index, held against plain first-match evaluation of every completion."""

from __future__ import annotations

from decimal import Decimal, localcontext

from hypothesis import given, settings
from hypothesis import strategies as st
from tests.core import rulebooks as random_books

from gradewright.core.asking import next_test
from gradewright.core.explain import trace
from gradewright.core.grading import Contradiction, Graded, Grader, Outcome, Undecided, Ungraded
from gradewright.core.observations import Attribute, Kind, Value
from gradewright.core.rulebook import Bound, Condition, Rulebook


@st.composite
def books_and_parts(draw: st.DrawFn) -> tuple[Rulebook, dict[str, Value]]:
    book = draw(random_books.rulebooks())
    return book, draw(random_books.parts(book))


def reached(outcome: Outcome) -> set[str | None]:
    if isinstance(outcome, Graded):
        return {outcome.grade}
    if isinstance(outcome, Undecided):
        return {*outcome.candidates, *([None] if outcome.may_be_ungraded else [])}
    return {None} if isinstance(outcome, Ungraded) else set()


@given(books_and_parts())
@settings(max_examples=200)
def test_candidates_are_what_some_completion_reaches(case: tuple[Rulebook, dict[str, Value]]) -> None:
    """The index answers exactly the grades that some possible completion of the unknowns ends at."""
    book, part = case
    outcome = Grader(book).grade(part)
    assert reached(outcome) == random_books.reachable(book, part)
    assert isinstance(outcome, Contradiction) == (not random_books.reachable(book, part))


@given(books_and_parts())
@settings(max_examples=100)
def test_the_choices_that_are_left_are_those_that_contradict_nothing(
    case: tuple[Rulebook, dict[str, Value]],
) -> None:
    """Of what is not known those choices are left, in their order, with which some completion can be."""
    book, part = case
    grader = Grader(book)
    for name, attribute in book.attributes.items():
        if name not in part:
            can_be = [c for c in attribute.choices if random_books.reachable(book, {**part, name: c})]
            assert list(grader.choices_left(grader.read(part), name)) == can_be


@given(st.data())
@settings(max_examples=100)
def test_a_fully_known_part_is_graded_by_the_first_rule_that_holds(data: st.DataObject) -> None:
    """With nothing unknown, grade and rule are those of plain first-match evaluation."""
    book = data.draw(random_books.rulebooks())
    part = {a.name: data.draw(st.sampled_from(random_books.points(a))) for a in book.attributes.values()}
    outcome = Grader(book).grade(part)
    expected = random_books.first_match(book, part)
    if expected == "!":
        assert isinstance(outcome, Contradiction)
    elif expected is None:
        assert isinstance(outcome, Ungraded)
    else:
        assert isinstance(outcome, Graded)
        assert outcome.grade == expected
        first = next(r for r in book.rules if all(c.holds(part[c.attribute]) for c in r.when))
        assert outcome.rule == first


@given(books_and_parts())
@settings(max_examples=100)
def test_the_order_of_observations_does_not_matter(case: tuple[Rulebook, dict[str, Value]]) -> None:
    """The same observations in another order give the same outcome, rule included."""
    book, part = case
    backwards = dict(reversed(part.items()))
    assert Grader(book).grade(part) == Grader(book).grade(backwards)


@given(books_and_parts(), st.data())
@settings(max_examples=100)
def test_asking_on_always_comes_to_an_end(
    case: tuple[Rulebook, dict[str, Value]], data: st.DataObject
) -> None:
    """An undecided part has a next test, and answering tests decides it within the number of attributes."""
    book, part = case
    grader = Grader(book)
    whole = {a.name: data.draw(st.sampled_from(random_books.points(a))) for a in book.attributes.values()}
    for _ in range(len(book.attributes) + 1):
        outcome = grader.grade(part)
        if not isinstance(outcome, Undecided):
            return
        asked = next_test(grader, grader.read(part), {})
        assert asked is not None
        assert asked.name not in part
        part = {**part, asked.name: whole[asked.name]}
    raise AssertionError("still undecided with every attribute known")


@given(books_and_parts())
@settings(max_examples=100)
def test_a_trace_says_of_every_rule_why(case: tuple[Rulebook, dict[str, Value]]) -> None:
    """Traced rules stand in order; what is said to hold, to fail or to be open is so by plain evaluation."""
    book, part = case
    steps = trace(Grader(book), part)
    assert [step.rule for step in steps] == list(book.rules[: len(steps)])
    assert len(steps) == len(book.rules) or steps[-1].holds
    for step in steps:
        assert step.why
        known = [c.holds(part[c.attribute]) for c in step.rule.when if c.attribute in part]
        if step.holds:
            assert len(known) == len(step.rule.when)
            assert all(known)
        elif step.holds is None:
            assert all(known)
            assert len(known) < len(step.rule.when)
        else:
            possible = [
                whole
                for whole in random_books.completions(book, part)
                if random_books.first_match(book, whole) != "!"
                and all(c.holds(whole[c.attribute]) for c in step.rule.when)
            ]
            assert not possible


THICKNESS = random_books.attribute("thickness", Kind.LENGTH)
METAL = random_books.attribute("metal", Kind.CHOICE, ("steel", "copper"))
MAGNET = random_books.attribute("sticks_to_magnet", Kind.YES_NO)


def heavy_steel() -> Rulebook:
    quarter_inch = Bound(Decimal("6.35"), "6.35 mm", "heavy_steel_thickness")
    steel = Condition("metal", ("steel",))
    return random_books.rulebook(
        [METAL, MAGNET, THICKNESS],
        [
            ((steel, Condition("thickness", at_least=quarter_inch)), "steel-heavy"),
            ((steel,), "light-iron"),
            ((Condition("metal", ("copper",)),), "copper"),
        ],
        [(Condition("metal", ("copper",)), Condition("sticks_to_magnet", (True,)))],
    )


def test_a_limit_holds_on_the_line() -> None:
    """A part exactly as thick as the limit asks is on the limit's side."""
    grader = Grader(heavy_steel())
    assert reached(grader.grade({"metal": "steel", "thickness": Decimal("6.35")})) == {"steel-heavy"}
    assert reached(grader.grade({"metal": "steel", "thickness": Decimal("6.349999")})) == {"light-iron"}


def test_a_narrow_span_is_told_apart_in_any_context() -> None:
    """Between 12.345 and 12.347 mm there is a span of its own, also where the thread has three digits."""
    narrow = Condition(
        "thickness", above=Bound(Decimal("12.345"), "12.345 mm"), below=Bound(Decimal("12.347"), "12.347 mm")
    )
    with localcontext() as context:
        context.prec = 3
        grader = Grader(random_books.rulebook([THICKNESS], [((narrow,), "narrow"), ((), "other")]))
    assert reached(grader.grade({"thickness": Decimal("12.346")})) == {"narrow"}
    assert reached(grader.grade({"thickness": Decimal("12.347")})) == {"other"}


def test_what_is_impossible_is_named_and_not_graded() -> None:
    """Copper that sticks to a magnet is a contradiction, whatever else is known."""
    outcome = Grader(heavy_steel()).grade({"metal": "copper", "sticks_to_magnet": True})
    assert isinstance(outcome, Contradiction)
    assert [entry.id for entry in outcome.impossible] == ["i0"]


def test_a_magnet_alone_rules_copper_out() -> None:
    """What is impossible together narrows the candidates before the metal is known."""
    outcome = Grader(heavy_steel()).grade({"sticks_to_magnet": True})
    assert reached(outcome) == {"steel-heavy", "light-iron"}


def test_a_trace_names_the_limit_and_the_measure() -> None:
    """A rule that a limit kept out says what was measured, what is asked, and which limit asks it."""
    steps = trace(Grader(heavy_steel()), {"metal": "steel", "thickness": Decimal(3)})
    assert steps[0].why == "thickness is 3 mm; at least 6.35 mm (heavy_steel_thickness) is asked"
    assert steps[1].holds


def test_what_nobody_can_tell_is_not_asked_for() -> None:
    """A skipped attribute is left out of the next test; where all that matter are skipped there is none."""
    grader = Grader(heavy_steel())
    reading = grader.read({"metal": "steel"})
    asked = next_test(grader, reading, {})
    assert asked is not None
    assert asked.name == "thickness"
    assert next_test(grader, reading, {}, skip=["thickness"]) is None


def yes_no(name: str, minutes: str = "1") -> Attribute:
    return Attribute(name, Kind.YES_NO, "?", "look", Decimal(minutes), "-")


def test_a_quick_look_is_not_asked_for_only_because_it_is_quick() -> None:
    """What takes less than three seconds counts as three: the better of two quick looks is asked for."""
    first, second = Condition("first", (True,)), Condition("second", (True,))
    rules = [((second,), "dear"), ((first,), "cheaper"), ((), "nothing-much")]
    worth = {"dear": Decimal(10), "cheaper": Decimal(9), "nothing-much": Decimal(0)}
    book = random_books.rulebook([yes_no("first", "0.025"), yes_no("second", "0.05")], rules)
    grader = Grader(book)
    asked = next_test(grader, grader.read({}), worth)
    assert asked is not None
    assert asked.name == "second"


def test_what_may_come_out_as_nothing_is_worth_asking_about() -> None:
    """Where a part is one grade or none, the test that tells the most often is asked for, not the first."""
    both = Condition("first", (True,)), Condition("second", (True,))
    grader = Grader(
        random_books.rulebook(
            [yes_no("first"), yes_no("second"), yes_no("third")],
            [(both, "sold"), ((Condition("third", (True,)),), "sold")],
        )
    )
    asked = next_test(grader, grader.read({}), {"sold": Decimal(5)})
    assert asked is not None
    assert asked.name == "third"
