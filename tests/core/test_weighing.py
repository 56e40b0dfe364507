"""What to find out next where prices are known: minutes held against the money that hangs on them."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.core import rulebooks as random_books
from tests.core.test_concerns import cautioned_books_and_parts
from tests.core.test_grading import books_and_parts
from tests.core.test_questions import NO, YES, Part, asks, five_by_five, two_looks, yes_no

from gradewright.core.at_stake import AtStake, minutes, usual_hour
from gradewright.core.grading import Grader, Undecided
from gradewright.core.rulebook import Caution, Rulebook
from gradewright.core.weighing import Choice, Saving, Weighing, too_little

A_MINUTE = Fraction(1)  # so that all money is in minutes of work


def choice(
    grader: Grader, part: Part, pays: str = "", *skip: str, stops: bool = True, beyond: bool = True
) -> Choice:
    """How it goes on with a part that pays so many minutes of work as each grade: "left=9 right=2.2"."""
    worth = {grade: Decimal(paid) for grade, paid in (each.split("=") for each in pays.split())}
    stake = AtStake({grade: Fraction(paid) for grade, paid in worth.items()}, A_MINUTE)
    weighing = Weighing(grader, worth, stops=stops, beyond_rules=beyond)
    return weighing.onward(grader.read(part), stake, skip)


def asked(grader: Grader, part: Part, pays: str = "", *skip: str, stops: bool = True) -> str | None:
    test = choice(grader, part, pays, *skip, stops=stops).test
    return None if test is None else test.name


@pytest.mark.parametrize(("dear", "other"), [("left", "right"), ("right", "left")])
def test_what_money_hangs_on_is_asked_for_first(dear: str, other: str) -> None:
    """Of two looks as quick the one that tells the dear grade comes first, though the other one settles more
    parts; without prices it is the other one.
    """
    grader = two_looks({other: YES}, {other: YES}, {dear: YES})
    pays = f"{dear}=100 {other}=0.1 neither=0"
    assert asked(grader, {}, pays) == dear
    assert asked(grader, {}, pays, stops=False) == dear
    assert asked(grader, {}) == other


def test_it_stops_where_a_look_costs_what_it_adds() -> None:
    """Two of three parts are of the dearer grade, a look takes a minute and a tenth: it is made where the two
    lie further apart than half as much again, and not where they lie just so far.
    """
    grader = two_looks()
    part = {"left": NO}
    assert asked(grader, part, "left=9 right=1.66 neither=0") == "right"
    found = choice(grader, part, "left=9 right=1.65 neither=0")
    assert found.test is None
    assert found.stop is not None
    assert (minutes(found.stop.adds), minutes(found.stop.effort)) == (Fraction(11, 10), Fraction(11, 10))
    assert asked(grader, part, "left=9 right=1.65 neither=0", stops=False) == "right"


def alike_or_not() -> Grader:
    """A grade that depends on two looks being alike: neither tells anything alone."""
    rules = [
        ((asks("one"), asks("other")), "alike"),
        ((asks("one", NO), asks("other", NO)), "alike"),
        ((), "unlike"),
    ]
    return Grader(random_books.rulebook([yes_no("one"), yes_no("other")], rules))


def test_what_two_looks_add_together_counts() -> None:
    """A first look that tells nothing alone is made for what a second one tells after it, and not where both
    together cost more than they add; then both are told of.
    """
    grader = alike_or_not()
    assert asked(grader, {}, "alike=20 unlike=0") in {"one", "other"}
    found = choice(grader, {}, "alike=2 unlike=0")
    assert found.test is None
    assert found.stop is not None
    assert minutes(found.stop.effort) == Fraction(22, 10)
    assert found.stop.adds < found.stop.effort


def test_what_has_no_price_is_found_out_at_any_cost() -> None:
    """A grade without a price could be worth anything; once it is ruled out minutes count again."""
    grader = two_looks()
    assert asked(grader, {}, "left=0.1 neither=0.1") is not None
    assert asked(grader, {"right": NO}, "left=0.1 neither=0") is None
    open_ended = Grader(replace(grader.rulebook, rules=grader.rulebook.rules[:2]))
    assert asked(open_ended, {}, "left=0 right=0") is not None


def test_where_time_is_free_all_that_is_worth_anything_is_found_out() -> None:
    """At nothing an hour it goes on for the least difference, and stops where there is none."""
    grader, part = two_looks(), {"left": NO}
    reading = grader.read(part)
    for right, worth_it in (("0.000001", True), ("0", False)):
        worth = {"left": Decimal(9), "right": Decimal(right), "neither": Decimal(0)}
        stake = AtStake({grade: Fraction(paid) for grade, paid in worth.items()}, Fraction(0))
        found = Weighing(grader, worth, stops=True).onward(reading, stake)
        assert (found.test is not None, found.stop is None) == (worth_it, worth_it)


def test_what_nobody_can_tell_is_not_asked_for() -> None:
    """Skipped looks are left out of every order; where nothing else tells, nothing is asked, or too dear."""
    grader = two_looks()
    pays = "left=100 right=50 neither=0"
    assert asked(grader, {}, pays, "left") == "right"
    assert choice(grader, {}, pays, "left", "right") == Choice(None, None, ())


def test_no_money_is_held_against_a_danger() -> None:
    """Where one candidate is dangerous, what tells it is asked for though nothing hangs on it."""
    caution = Caution("acid", "Acid", "-", "-", grades=frozenset({"right"}))
    grader = Grader(replace(two_looks().rulebook, cautions={"acid": caution}))
    found = choice(grader, {"left": NO}, "left=1 right=0.1 neither=0")
    assert (found.test and found.test.name, found.stop, found.in_doubt) == ("right", None, (caution,))
    assert choice(grader, {"right": NO}, "left=0.1 neither=0").stop is not None


def test_of_many_grades_too() -> None:
    """Of more grades than all orders are looked at for, the look is chosen on which money hangs, though it
    takes longer, and none where even the quickest costs more than all of them would add.
    """
    grader = five_by_five()
    grades = [(n, m) for n in range(5) for m in range(5)]
    by_colour = " ".join(f"g{n}{m}={30 * m}" for n, m in grades)
    assert asked(grader, {}, by_colour) == "colour"
    assert asked(grader, {}) == "shape"
    assert asked(grader, {"colour": "3"}, by_colour) is None
    found = choice(grader, {}, " ".join(f"g{n}{m}={0 if n + m else 25}" for n, m in grades))
    assert found.test is None
    assert found.stop is not None
    assert found.stop.at_best
    assert (minutes(found.stop.adds), minutes(found.stop.effort)) == (Fraction(1), Fraction(11, 10))


def test_of_many_grades_it_goes_on_while_the_quickest_look_costs_less() -> None:
    """One dear grade of twenty-five, for whose sake two minutes are lost by stopping: the first look takes
    1.1, and a second one is needed after a fifth of them, 1.32 in all. So it is made.
    """
    pays = " ".join(f"g{n}{m}={0 if n + m else 50}" for n in range(5) for m in range(5))
    found = choice(five_by_five(), {}, pays)
    assert found.stop is None
    assert found.test is not None
    assert found.test.name in {"colour", "shape"}


@pytest.mark.parametrize(("looks", "less"), [("abc", 300), ("abcd", 0)])
@pytest.mark.parametrize(("dear", "other"), [("gold", "silver"), ("silver", "gold")])
def test_what_tells_little_of_the_grade_and_most_of_the_money_comes_first(
    looks: str, less: int, dear: str, other: str
) -> None:
    """Among cheap grades that look is made first which tells the one dear grade, though three others tell
    more of the grade, and another one of less money; of few grades and of many.
    """
    combined = list(product((YES, NO), repeat=len(looks)))
    rules = [((asks(dear), asks(other, NO)), dear), ((asks(dear, NO), asks(other)), other)]
    neither = (asks(dear, NO), asks(other, NO))
    rules += [((*neither, *map(asks, looks, seen)), f"cheap-{n}") for n, seen in enumerate(combined)]
    attributes = [yes_no(name) for name in (*looks, "gold", "silver")]
    grader = Grader(random_books.rulebook(attributes, rules, [(asks(dear), asks(other))]))
    pays = f"{dear}=900 {other}={less} " + " ".join(f"cheap-{n}=0" for n in range(len(combined)))
    assert asked(grader, {}) in set(looks)
    assert asked(grader, {}, pays) == dear
    assert asked(grader, {}, pays, stops=False) == dear


def test_it_is_told_in_money() -> None:
    """What is added and what it costs are rounded to the minor unit, the minutes to a hundredth."""
    stake = AtStake({"a": Fraction(300), "b": Fraction(100)}, Fraction(25))
    third = (stake.pays["a"] - stake.pays["b"]) // 8 // 3
    found = too_little({"a": 300, "b": 100}, stake, Saving(third, third * 2))
    assert (found.cheapest, found.dearest, found.spread, found.adds, found.costs) == ("b", "a", 200, 8, 17)
    assert found.minutes == Decimal("0.67")


def test_the_usual_hour() -> None:
    """It is ten kilograms at the middle price, the lower of two, of what is paid for at all."""
    worth = {"a": Decimal(4), "b": Decimal("0.5"), "c": Decimal(1), "waste": Decimal(-3), "free": Decimal(0)}
    assert usual_hour(worth) == 10
    assert usual_hour({**worth, "d": Decimal(9)}) == 10
    assert usual_hour({"waste": Decimal(-3)}) is None


@given(books_and_parts(), st.data())
@settings(max_examples=60)
def test_it_comes_to_an_end_and_never_loses_more_than_stopping(
    case: tuple[Rulebook, Part], data: st.DataObject
) -> None:
    """Asking on, at any prices, nothing is asked twice, and it ends decided or where it says what it would
    add and cost, the cost being no less; with no rate it ends decided, but where prices are alike.
    """
    book, part = case
    grader = Grader(book)
    prices = st.none() | st.integers(-20, 400).map(Decimal)
    drawn = {grade: data.draw(prices) for grade in book.grades}
    worth = {grade: price for grade, price in drawn.items() if price is not None}
    stake = AtStake({grade: Fraction(paid) / 10 for grade, paid in worth.items()}, A_MINUTE)
    stops = data.draw(st.booleans())
    weighing = Weighing(grader, worth, stops=stops, beyond_rules=True)
    whole = {a.name: data.draw(st.sampled_from(random_books.points(a))) for a in book.attributes.values()}
    for _ in range(len(book.attributes) + 1):
        outcome = grader.grade(part)
        if not isinstance(outcome, Undecided):
            return
        reading = grader.read(part)
        found = weighing.onward(reading, stake)
        if found.test is None:
            priced = not outcome.may_be_ungraded and worth.keys() >= set(outcome.candidates)
            assert priced, "what has no price is found out"
            if stops:
                assert found.stop is not None
                assert found.stop.adds <= found.stop.effort
            else:
                assert weighing.not_worth(reading) is not None
            return
        assert found.test.name not in part
        part = {**part, found.test.name: whole[found.test.name]}
    raise AssertionError("it asked more often than there are attributes")


@given(cautioned_books_and_parts())
@settings(max_examples=40)
def test_it_never_stops_for_money_where_a_danger_depends_on_it(case: tuple[Rulebook, Part]) -> None:
    """Where nothing at all hangs on the grade, whatever is still told to apply perhaps is asked after."""
    book, part = case
    grader = Grader(book)
    if not isinstance(grader.grade(part), Undecided):
        return
    nothing = {grade: Fraction(0) for grade in book.grades}
    weighing = Weighing(grader, {grade: Decimal(0) for grade in book.grades}, stops=True)
    reading = grader.read(part)
    found = weighing.onward(reading, AtStake(nothing, A_MINUTE))
    if found.stop is not None:
        assert not grader.concerning(reading, None).possible
