"""What to find out next: that asking ends, what it goes by, and when it is not worth it."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.core import rulebooks as random_books
from tests.core.test_concerns import cautioned_books_and_parts
from tests.core.test_grading import books_and_parts

from gradewright.core.alike import alike
from gradewright.core.belief import Belief, Case
from gradewright.core.grading import Grader, Undecided
from gradewright.core.observations import Attribute, Kind, Value
from gradewright.core.prospects import Prospects
from gradewright.core.questions import Questioner
from gradewright.core.rulebook import Caution, Condition, Example, Rulebook
from gradewright.core.uncertainty import entropy, log2

Part = dict[str, Value]
YES, NO = True, False


def yes_no(name: str, minutes: str = "1") -> Attribute:
    return Attribute(name, Kind.YES_NO, "?", "look", Decimal(minutes), "-")


def asks(name: str, value: Value = YES) -> Condition:
    return Condition(name, (value,))


def asked(questioner: Questioner, grader: Grader, part: Part, skip: list[str] | None = None) -> str | None:
    found = questioner.next_test(grader.read(part), skip or [])
    return found.name if found is not None else None


def two_looks(*examples: Part) -> Grader:
    """Three grades: a part is "left" or "right", which one look each tells and never both, or "neither"."""
    rules = [((asks("left"),), "left"), ((asks("right"),), "right"), ((), "neither")]
    both = (asks("left"), asks("right"))
    book = random_books.rulebook([yes_no("left"), yes_no("right")], rules, [both])
    return Grader(replace(book, examples=tuple(Example(part) for part in examples)))


@given(st.integers(1, 1 << 130))
def test_logarithms(number: int) -> None:
    """The logarithm in whole numbers is that of the floating-point unit, to five places, and never falls."""
    assert abs(log2(number) / 2**20 - math.log2(number)) < 4e-6
    assert log2(number) <= log2(number + 1)


@given(books_and_parts(), st.data())
@settings(max_examples=100)
def test_asking_on_always_comes_to_an_end(case: tuple[Rulebook, Part], data: st.DataObject) -> None:
    """An undecided part has a next test, and answering tests decides it within the number of attributes."""
    book, part = case
    grader = Grader(book)
    questioner = Questioner(grader, {})
    whole = {a.name: data.draw(st.sampled_from(random_books.points(a))) for a in book.attributes.values()}
    for _ in range(len(book.attributes) + 1):
        if not isinstance(grader.grade(part), Undecided):
            assert asked(questioner, grader, part) is None
            return
        name = asked(questioner, grader, part)
        assert name is not None
        assert name not in part
        part = {**part, name: whole[name]}
    raise AssertionError("still undecided with every attribute known")


@given(st.data())
@settings(max_examples=100)
def test_what_was_asked_before_changes_nothing(data: st.DataObject) -> None:
    """A questioner, and a rulebook's memory, that has answered much answers as fresh ones do."""
    book = data.draw(random_books.rulebooks())
    worth = {grade: Decimal(n) for n, grade in enumerate(book.grades, start=1)}
    used = Grader(book)
    questioner = Questioner(used, worth)
    for part in data.draw(st.lists(random_books.parts(book), max_size=12)):
        fresh = Grader(book)
        assert asked(questioner, used, part) == asked(Questioner(fresh, worth), fresh, part)


@given(books_and_parts())
@settings(max_examples=80)
def test_the_entropy_that_is_left_is_that_of_the_masses(case: tuple[Rulebook, Part]) -> None:
    """The quick sum over answers says what the entropies of all answers' masses add up to."""
    book, part = case
    grader = Grader(book)
    if not isinstance(grader.grade(part), Undecided):
        return
    reading = grader.read(part)
    belief = Belief(grader, [Case(part, 3)])
    prospects = Prospects(grader, belief)
    state = belief.state(reading.possible, reading.known)
    weighed = belief.weighed(state, prospects.ends(state.possible, state.known))
    for axis in prospects.open(state):
        answers = belief.answers(weighed, axis)
        masses = [answers.masses(branch) for branch in answers.branches]
        assert [sum(of.values()) for of in masses] == pytest.approx(answers.sizes(), rel=1e-9)
        before, left = answers.grade_left()
        total = sum(answers.sizes()) << 20
        assert left / total == pytest.approx(sum(map(entropy, masses)) / total, abs=1e-4)
        together = {end: sum(of[end] for of in masses) for end in weighed.by_outcome}
        assert before / total == pytest.approx(entropy(together) / total, abs=1e-4)
        assert left <= before + total // 10_000, "an answer cannot make the grade harder to guess on average"


@pytest.mark.parametrize(("common", "rare"), [("left", "right"), ("right", "left")])
def test_what_is_common_in_the_examples_is_asked_for_first(common: str, rare: str) -> None:
    """Of two looks the one that settles most of the rulebook's examples comes first, whichever it is."""
    grader = two_looks({common: YES}, {common: YES}, {rare: YES})
    assert asked(Questioner(grader, {}), grader, {}) == common


@pytest.mark.parametrize(("common", "rare"), [("left", "right"), ("right", "left")])
def test_counts_that_are_handed_in_count(common: str, rare: str) -> None:
    """Parts that a caller has counted outweigh the rulebook's own examples; undecided ones tell nothing."""
    grader = two_looks({rare: YES}, {rare: YES})
    belief = Belief(grader, [Case({common: YES}, 100), Case({}, 10_000)])
    assert asked(Questioner(grader, {}, prospects=Prospects(grader, belief)), grader, {}) == common
    assert asked(Questioner(grader, {}), grader, {}) == rare


def test_a_cheap_look_goes_before_a_dear_one() -> None:
    """Of two tests that tell the same, the quicker is asked for; and a skipped one is not."""
    rules = [((asks("weighed"),), "a"), ((asks("looked"),), "a"), ((), "b")]
    book = random_books.rulebook([yes_no("weighed", "5"), yes_no("looked", "0.1")], rules)
    grader = Grader(book)
    assert asked(Questioner(grader, {}), grader, {}) == "looked"
    assert asked(Questioner(grader, {}), grader, {}, ["looked"]) == "weighed"
    assert asked(Questioner(grader, {}), grader, {}, ["looked", "weighed"]) is None


def five_by_five() -> Grader:
    """25 grades, told apart by two looks of five values each, one of which takes longer."""
    values = [str(n) for n in range(5)]
    looks = [
        replace(random_books.attribute(name, Kind.CHOICE, tuple(values)), minutes=Decimal(long))
        for name, long in (("shape", "1"), ("colour", "2"))
    ]
    rules = [((asks("shape", n), asks("colour", m)), f"g{n}{m}") for n in values for m in values]
    return Grader(random_books.rulebook(looks, rules))


def test_of_many_grades_what_tells_the_price_counts_as_what_tells_the_grade() -> None:
    """Of two looks that tell as much of the grade the quicker one comes first, and the slower one where it
    tells most of the price, of which no answer leaves only what is alike.
    """
    grader = five_by_five()
    assert asked(Questioner(grader, {}), grader, {}) == "shape"
    by_shape, by_colour = (
        {grade: (10 + Decimal(grade[little])) * 4 ** int(grade[much]) for grade in grader.rulebook.grades}
        for little, much in ((2, 1), (1, 2))
    )
    assert asked(Questioner(grader, by_shape), grader, {}) == "shape"
    assert asked(Questioner(grader, by_colour), grader, {}) == "colour"


def priced(grader: Grader, **prices: str) -> Questioner:
    return Questioner(grader, {grade: Decimal(price) for grade, price in prices.items()})


def test_prices_that_are_nearly_the_same_end_the_asking() -> None:
    """Within 5 % of the dearest, on the line too, it is not worth it; just outside it is."""
    grader = two_looks()
    near = priced(grader, left="2.00", right="1.95", neither="1.90")
    found = near.not_worth(grader.read({}))
    assert found is not None
    assert (found.cheapest, found.dearest, found.share) == ("neither", "left", Decimal("0.05"))
    assert asked(near, grader, {}) is None
    far = priced(grader, left="2.00", right="1.95", neither="1.8999")
    assert far.not_worth(grader.read({})) is None
    assert asked(far, grader, {}) is not None


def test_how_near_is_the_callers_to_say() -> None:
    """Another share can be asked for; with none at all prices have to be equal."""
    grader = two_looks()
    worth = {"left": Decimal(10), "right": Decimal(8), "neither": Decimal(9)}
    reading = grader.read({})
    assert Questioner(grader, worth, within=Decimal("0.2")).not_worth(reading) is not None
    assert Questioner(grader, worth, within=Decimal(0)).not_worth(reading) is None
    same = dict.fromkeys(worth, Decimal(8))
    assert Questioner(grader, same, within=Decimal(0)).not_worth(reading) is not None


def test_what_has_no_price_is_worth_finding_out() -> None:
    """A candidate without a price, or that may turn out to be nothing, could be worth anything."""
    grader = two_looks()
    assert priced(grader, left="2", right="2").not_worth(grader.read({})) is None
    book = grader.rulebook
    open_ended = Grader(replace(book, rules=book.rules[:2]))
    assert priced(open_ended, left="2", right="2").not_worth(open_ended.read({})) is None
    assert priced(grader).not_worth(grader.read({})) is None


def test_what_is_decided_is_not_called_unworthy() -> None:
    """A part with one grade left needs no asking, and so no verdict on it."""
    grader = two_looks()
    assert priced(grader, left="2", right="2", neither="2").not_worth(grader.read({"left": YES})) is None


def test_costs_can_be_alike() -> None:
    """What one pays to be rid of is compared by its size; a price above and one below nothing never are."""
    ends = {"a", "b"}
    assert alike(ends, {"a": Decimal("-1.00"), "b": Decimal("-0.96")}, Decimal("0.05")) is not None
    assert alike(ends, {"a": Decimal("-0.01"), "b": Decimal("0.01")}, Decimal("0.05")) is None
    assert alike(ends, {"a": Decimal(0), "b": Decimal(0)}, Decimal("0.05")) is not None


SAME = {"left": "2", "right": "2", "neither": "2"}


def cautioned(caution: Caution, *more: Attribute) -> Grader:
    """`two_looks` with a caution, and with further attributes that no rule asks for."""
    book = two_looks().rulebook
    attributes = {**book.attributes, **{a.name: a for a in more}}
    return Grader(replace(book, attributes=attributes, cautions={caution.id: caution}))


def test_a_caution_of_one_candidate_keeps_asking() -> None:
    """Where one candidate is dangerous and the others are not, equal prices do not end the asking."""
    grader = cautioned(Caution("acid", "Acid", "-", "-", grades=frozenset({"right"})))
    questioner = priced(grader, **SAME)
    assert questioner.not_worth(grader.read({})) is None
    assert [caution.id for caution in questioner.in_doubt(grader.read({}))] == ["acid"]
    assert asked(questioner, grader, {}) in {"left", "right"}
    assert asked(questioner, grader, {"left": YES}) is None
    assert questioner.not_worth(grader.read({"right": NO})) is not None


def test_an_exception_that_is_not_known_keeps_asking() -> None:
    """A danger that is there unless something else is seen: that is asked for, and then it ends."""
    caution = Caution("oil", "Oil", "-", "-", when=((asks("old"),),), unless=((asks("marked"),),))
    grader = cautioned(caution, yes_no("old"), yes_no("marked"))
    questioner = priced(grader, **SAME)
    assert asked(questioner, grader, {"old": YES}) == "marked"
    assert questioner.not_worth(grader.read({"old": YES})) is None
    for marked in (YES, NO):
        assert asked(questioner, grader, {"old": YES, "marked": marked}) is None
        assert questioner.not_worth(grader.read({"old": YES, "marked": marked})) is not None
    assert asked(questioner, grader, {"old": YES}, ["marked"]) in {"left", "right"}


def test_a_caution_half_met_keeps_asking() -> None:
    """A danger of which one condition is met already is settled, though no price depends on it."""
    caution = Caution("dust", "Dust", "-", "-", when=((asks("old"), asks("painted")),))
    grader = cautioned(caution, yes_no("old"), yes_no("painted"))
    questioner = priced(grader, **SAME)
    assert asked(questioner, grader, {"old": YES}) == "painted"
    assert asked(questioner, grader, {"old": NO}) is None


def test_what_may_apply_keeps_asking() -> None:
    """As long as a part is told that a caution may apply it is not called unworthy; method 2 did so."""
    caution = Caution("dust", "Dust", "-", "-", when=((asks("left"), asks("old")),))
    grader = cautioned(caution, yes_no("old"))
    reading, questioner = grader.read({}), priced(grader, **SAME)
    assert grader.concerning(reading, None).possible == (caution,)
    assert questioner.not_worth(reading) is None
    assert asked(questioner, grader, {}) in {"left", "old"}
    assert questioner.not_worth(grader.read({"old": NO})) is not None
    worth = {grade: Decimal(price) for grade, price in SAME.items()}
    before = Questioner(grader, worth, prospects=grader.prospects_of_method_2)
    assert before.not_worth(reading) is not None


def test_a_caution_that_has_nothing_to_do_with_it_does_not() -> None:
    """A danger that could be about any part, with nothing pointing to it, does not keep asking."""
    caution = Caution("foam", "Foam", "-", "-", when=((asks("foam"),),))
    grader = cautioned(caution, yes_no("foam"))
    assert priced(grader, **SAME).not_worth(grader.read({})) is not None


def test_what_is_left_open_for_safety_ends_too() -> None:
    """Asking for a caution's sake asks nothing twice, and comes to an end whatever is answered."""
    caution = Caution(
        "oil", "Oil", "-", "-", when=((asks("old"), asks("right")),), unless=((asks("marked"),),)
    )
    grader = cautioned(caution, yes_no("old"), yes_no("marked"))
    for answers in ((YES, YES, YES, YES), (NO, NO, NO, NO), (NO, YES, YES, NO), (YES, NO, NO, YES)):
        whole = dict(zip(("left", "right", "old", "marked"), answers, strict=True))
        questioner, part = priced(grader, **SAME), {"old": YES}
        names = []
        while (name := asked(questioner, grader, part)) is not None:
            names.append(name)
            assert name not in part
            part = {**part, name: whole[name]}
        assert all(a != b for a, b in pairwise(names))
        decided = not isinstance(grader.grade(part), Undecided)
        assert decided or questioner.not_worth(grader.read(part)) is not None


def after(grader: Grader, part: Part, name: str) -> set[tuple[object, ...]]:
    """What each answer to a test leaves: the outcome's grades, and the cautions that are shown then."""
    found = set()
    for cell in grader.index.axes[name].cells:
        reading = grader.read({**part, name: cell})
        ends = grader.prospects.ends(reading.possible, reading.known)
        if ends:
            names = [tuple(caution.id for caution in kind) for kind in grader.concerning(reading, None)]
            found.add((ends, *names))
    return found


@given(cautioned_books_and_parts(), st.data())
@settings(max_examples=80)
def test_a_question_settles_something(case: tuple[Rulebook, Part], data: st.DataObject) -> None:
    """Two answers to a question leave different grades or cautions; or else to a next one, after some answer,
    where no single question does. Nothing is asked twice, and what is skipped is never asked.
    """
    book, part = case
    grader = Grader(book)
    worth = {g: Decimal(1) for g in book.grades} if data.draw(st.booleans()) else {}
    questioner = Questioner(grader, worth)
    skip = data.draw(st.lists(st.sampled_from(sorted(book.attributes)), unique=True))
    for _ in range(len(book.attributes) + 1):
        name = asked(questioner, grader, part, skip)
        if name is None:
            return
        assert name not in part
        assert name not in skip
        if len(after(grader, part, name)) < 2:
            left = [a for a in book.attributes if a not in part and a not in skip]
            assert all(len(grades_after(grader, part, a)) < 2 for a in left)
            cells = grader.index.axes[name].cells
            assert not skip or any(
                len(grades_after(grader, {**part, name: cell}, a)) > 1
                for cell in cells
                for a in left
                if a != name
            )
        answers = [
            cell
            for cell in grader.index.axes[name].cells
            if random_books.reachable(book, {**part, name: cell})
        ]
        if data.draw(st.booleans()):
            part = {**part, name: data.draw(st.sampled_from(answers))}
        else:
            skip = [*skip, name]
    raise AssertionError("it asked more often than there are attributes")


def grades_after(grader: Grader, part: Part, name: str) -> set[object]:
    return {found[0] for found in after(grader, part, name)}


def test_what_settles_nothing_is_not_asked_for() -> None:
    """Of a box whose inside nobody can tell the colour is not asked for, which rules out nothing of weight;
    method 2 did. Where a danger depends on the colour it is.
    """
    looks = [yes_no(name) for name in ("inside", "colour", "shape", "old")]
    rules = [((asks("inside"),), "a"), ((), "b")]
    book = random_books.rulebook(looks, rules, [(asks("colour"), asks("shape"))])
    grader, part, skip = Grader(book), {"old": YES}, ["inside"]
    before = Questioner(grader, {}, prospects=grader.prospects_of_method_2)
    assert asked(before, grader, part, skip) in {"colour", "shape"}
    assert asked(Questioner(grader, {}), grader, part, skip) is None
    caution = Caution(
        "oil", "Oil", "-", "-", when=((asks("old"), asks("inside")),), unless=((asks("colour"),),)
    )
    dangerous = Grader(replace(book, cautions={"oil": caution}))
    assert asked(Questioner(dangerous, {}), dangerous, part, skip) in {"colour", "shape"}


def test_two_looks_that_tell_only_together_are_asked_for() -> None:
    """Where a grade depends on two looks being alike, neither tells anything alone, and both are asked for;
    not so where one of them cannot be told.
    """
    both = [yes_no("one"), yes_no("other")]
    rules = [
        ((asks("one"), asks("other")), "alike"),
        ((asks("one", NO), asks("other", NO)), "alike"),
        ((), "unlike"),
    ]
    grader = Grader(random_books.rulebook([*both, yes_no("third")], rules, [(asks("one"), asks("third"))]))
    questioner = Questioner(grader, {})
    assert asked(questioner, grader, {}) in {"one", "other"}
    assert asked(questioner, grader, {}, ["other"]) is None
