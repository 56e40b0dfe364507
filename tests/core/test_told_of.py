"""What can be told of some things only: told, it narrows to these; of another thing it cannot be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.core.rulebooks import attribute, completions, first_match, parts, rulebook, rulebooks

from gradewright.core.grading import Contradiction, Graded, Grader, Outcome, Undecided, Ungraded
from gradewright.core.observations import Attribute, Kind, Value
from gradewright.core.rulebook import Caution, Condition, Rulebook, ToldOf, When

FORM = attribute("form", Kind.CHOICE, ("cable", "sheet", "built"))
CABLE, SHEET, BUILT = (Condition("form", (value,)) for value in FORM.choices)
DEVICE = attribute("device", Kind.YES_NO)
LAYERS = attribute("layers", Kind.CHOICE, ("one", "two"))
PLUG = attribute("plug", Kind.YES_NO)
SHARE = attribute("share", Kind.SHARE)
OF_CABLE = ToldOf("no-cable", ("layers", "share"), ((CABLE,),), "It is no cable.", "-")
OF_LEADS = ToldOf(
    "no-lead", ("plug",), ((CABLE,), (BUILT, Condition("device", (True,)))), "It has no lead.", "-"
)
ONE_LAYER = Condition("layers", ("one",))


def of(rules: list[tuple[When, str]]) -> Rulebook:
    """A rulebook over cables, sheets and devices, in which layers, shares and plugs are told of some only."""
    book = rulebook([FORM, DEVICE, LAYERS, PLUG, SHARE], rules)
    return replace(book, told_of=(OF_CABLE, OF_LEADS))


RULES: list[tuple[When, str]] = [
    ((ONE_LAYER, CABLE), "better"),
    ((CABLE,), "worse"),
    ((SHEET,), "sheet"),
    ((Condition("device", (True,)), Condition("plug", (False,)), BUILT), "cut"),
    ((BUILT,), "built"),
]


def reached(outcome: Outcome) -> set[str | None]:
    """The grades that an outcome leaves."""
    if isinstance(outcome, Graded):
        return {outcome.grade}
    if isinstance(outcome, Undecided):
        return {*outcome.candidates, *([None] if outcome.may_be_ungraded else [])}
    return {None} if isinstance(outcome, Ungraded) else set()


def makes_sense(book: Rulebook, whole: Mapping[str, Value], told: Mapping[str, Value]) -> bool:
    """Whether a part is something of which all can be told that was told."""
    return all(
        any(all(c.holds(whole[c.attribute]) for c in when) for when in entry.of)
        for entry in book.told_of
        if any(name in told for name in entry.attributes)
    )


@st.composite
def books(draw: st.DrawFn) -> Rulebook:
    """Any small rulebook, with up to three entries that say of what some of its attributes are told."""
    book = draw(rulebooks())
    things = [a for a in book.attributes.values() if a.kind in (Kind.CHOICE, Kind.YES_NO)]
    entries = []
    for n in range(draw(st.integers(1, 3)) if things else 0):
        of = draw(st.lists(some_things(things), min_size=1, max_size=2))
        asked = {condition.attribute for when in of for condition in when}
        if names := sorted(book.attributes.keys() - asked):
            told = draw(st.lists(st.sampled_from(names), min_size=1, max_size=2, unique=True))
            entries.append(ToldOf(f"t{n}", tuple(told), tuple(of), "-", "-"))
    return replace(book, told_of=tuple(entries))


def some_things(things: list[Attribute]) -> st.SearchStrategy[When]:
    """One or two conditions of choices, as a document could write them."""

    def one(a: Attribute) -> st.SearchStrategy[Condition]:
        values: list[Value] = list(a.choices) or [False, True]
        some = st.lists(st.sampled_from(values), min_size=1, max_size=2, unique=True)
        return some.map(lambda chosen: Condition(a.name, tuple(chosen)))

    chosen = st.lists(st.sampled_from(things), min_size=1, max_size=2, unique_by=lambda a: a.name)
    return chosen.flatmap(lambda several: st.tuples(*map(one, several)))


@given(st.data())
@settings(max_examples=150)
def test_candidates_are_what_things_of_which_it_can_be_told_are_graded_as(data: st.DataObject) -> None:
    """Exactly the grades of completions of which all that was told can be told; of none, a contradiction."""
    book = data.draw(books())
    part = data.draw(parts(book))
    ends = {
        first_match(book, whole) for whole in completions(book, part) if makes_sense(book, whole, part)
    } - {"!"}
    outcome = Grader(book).grade(part)
    assert reached(outcome) == ends
    assert isinstance(outcome, Contradiction) == (not ends)


@pytest.mark.parametrize(
    ("part", "grades"),
    [
        ({}, {"better", "worse", "sheet", "cut", "built"}),
        ({"layers": "two"}, {"worse"}),
        ({"layers": "one"}, {"better"}),
        ({"plug": True}, {"better", "worse", "built"}),
        ({"plug": False}, {"better", "worse", "cut"}),
        ({"plug": False, "device": False}, {"better", "worse"}),
        ({"plug": True, "layers": "two"}, {"worse"}),
        ({"form": "sheet"}, {"sheet"}),
        ({"form": "sheet", "device": True}, {"sheet"}),
    ],
)
def test_what_is_told_says_what_it_is(part: dict[str, Any], grades: set[str]) -> None:
    """Layers are a cable's, and a plug is a cable's or a device's; where neither is told, nothing follows."""
    assert reached(Grader(of(RULES)).grade(part)) == grades


@pytest.mark.parametrize(
    ("part", "entries"),
    [
        ({"form": "sheet", "layers": "one"}, [OF_CABLE]),
        ({"form": "built", "plug": True, "device": False}, [OF_LEADS]),
        ({"form": "sheet", "plug": True}, [OF_LEADS]),
        ({"form": "sheet", "plug": True, "layers": "two"}, [OF_CABLE, OF_LEADS]),
    ],
)
def test_told_of_another_thing_it_is_named(part: dict[str, Any], entries: list[ToldOf]) -> None:
    """A contradiction by the entry's name and reason, each told once."""
    found = Grader(of(RULES)).grade(part)
    assert isinstance(found, Contradiction)
    assert [(each.id, each.because) for each in found.impossible] == [(e.id, e.because) for e in entries]


def test_what_follows_of_a_thing_is_held_against_it_too() -> None:
    """A sheet is no device here: a plug told of it is named alone, and left out where work makes a sheet."""
    of_devices = replace(OF_LEADS, of=((Condition("device", (True,)),),))
    impossible: list[When] = [(SHEET, Condition("device", (True,))), (BUILT, ONE_LAYER)]
    book = replace(
        rulebook([FORM, DEVICE, LAYERS, PLUG, SHARE], RULES, impossible), told_of=(OF_CABLE, of_devices)
    )
    grader = Grader(book)
    part: dict[str, Value] = {"form": "sheet", "plug": True}
    found = grader.grade(part)
    assert isinstance(found, Contradiction)
    assert [entry.id for entry in found.impossible] == ["no-lead"]
    assert grader.still_told(part) == {"form": "sheet"}
    of_built: dict[str, Value] = {"form": "built", "plug": True, "share": Decimal("0.5")}
    assert grader.still_told(of_built) == {"form": "built", "plug": True}
    assert grader.still_told({"form": "cable", "layers": "one"}) == {"form": "cable", "layers": "one"}


def test_what_hurts_is_told_of_a_thing_that_is_described_as_what_it_cannot_be() -> None:
    """A caution of a device stays, though layers were told of it, which would make it a cable."""
    sharp = Caution("sharp", "Sharp", "-", "-", when=((BUILT,),))
    grader = Grader(replace(of(RULES), cautions={"sharp": sharp}))
    reading = grader.read({"form": "built", "layers": "one"})
    assert isinstance(grader.outcome(reading), Contradiction)
    assert grader.concerning(reading, None).certain == (sharp,)
    assert grader.concerning(grader.read({"layers": "one"}), None).all == ()


def test_a_question_that_is_not_answered_yet_rules_nothing_out() -> None:
    """What a test would tell is weighed over all things: nobody has said yet that it can be answered."""
    grader = Grader(of(RULES))
    index, reading = grader.index, grader.read({})
    axis = index.axes["layers"]
    ends = [grader.completions.reach(reading.possible & mask, axis.bit) for mask in axis.masks]
    assert [len(end.rules) for end in ends] == [4, 4]


def test_a_rulebook_without_them_is_compiled_as_before() -> None:
    """Where all can be told of everything, no clause is added, and no bit."""
    index = Grader(replace(of(RULES), told_of=())).index
    assert len(index.clauses) == len(RULES)
    assert index.anyway == index.all_bits == (1 << len(RULES)) - 1
    assert all(axis.told is axis.masks and not axis.counts for axis in index.axes.values())
