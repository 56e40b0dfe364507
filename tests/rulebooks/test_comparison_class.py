"""What kind of change it is, and the sentence that says so: neither claims what is not there."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from tests.api import small_rulebook
from tests.rulebooks.test_comparison_told import changed

from gradewright.core.grading import Contradiction, Graded, Grader
from gradewright.core.observations import read_observations
from gradewright.rulebooks.comparison import Comparison
from gradewright.rulebooks.document import read

Document = dict[str, Any]
SIDES = ("width", "depth", "thickness")
ENTRY = {"because": "-", "source": "-"}
BY_NAME = {"family": "ferrous", "describes": "Bright.", "by_name_only": True}


def bare() -> Document:
    """The small rulebook without examples, in which each grade may be sold by name."""
    source = small_rulebook()
    source["examples"] = []
    for grade in source["grades"].values():
        grade["by_name_only"] = True
    return source


def with_hole() -> Document:
    """One of which thin steel has no grade."""
    source = bare()
    source["rules"] = [each for each in source["rules"] if each["id"] != "thin-steel"]
    return source


def told_of(*things: Document) -> Document:
    """One in which foreign matter is told of these things only."""
    entry = {"id": "dirt", "attributes": ["foreign_share"], "of": list(things), **ENTRY}
    return {**bare(), "told_of": [entry]}


def in_order(*measures: str, name: str = "sides") -> Document:
    """One with three sides, of which so many are in an order, and a rule that asks for two of them."""
    source = bare()
    for side in ("width", "depth"):
        source["attributes"][side] = dict(source["attributes"]["thickness"])
    when = {"metal": "steel", "width": {"above": "5 mm"}, "depth": {"above": "2 mm"}}
    source["rules"].insert(0, {**source["rules"][0], "id": "w", "grade": "steel-heavy", "when": when})
    if measures:
        source["largest_first"] = [{"id": name, "measures": list(measures), **ENTRY}]
    return source


def ends(found: Comparison) -> set[tuple[str, str]]:
    """Between what kinds of answers something moves."""
    return {(move.before.answered, move.after.answered) for move in found.moves}


def test_a_new_grade_that_is_sold_by_name_alone_adds() -> None:
    """Parts that were given by that name were refused, and have a grade now."""
    before = small_rulebook()
    after = copy.deepcopy(before)
    after["grades"]["zinc-bright"] = {"name": "Bright zinc", **BY_NAME}
    found = changed(before, after)
    assert (found.kind, list(found.moves)) == ("adds", [])
    assert list(found.summary) == [
        "No part changes its grade; what is given by the name of a new one has it now.",
        "New grade: Bright zinc.",
    ]
    back = changed(after, before)
    assert (back.kind, back.summary[1:]) == ("changes", ["Retired grade: Bright zinc."])


def test_what_had_no_grade_and_cannot_be_any_more_is_lost() -> None:
    """It had no grade, but could be told; where it only could not, it is added, and no grade is promised."""
    before = with_hole()
    after = copy.deepcopy(before)
    thin = {"metal": "steel", "thickness": {"below": "1 mm"}}
    after["impossible"].append({"id": "flat", "when": thin, **ENTRY})
    found = changed(before, after)
    assert (found.kind, ends(found)) == ("changes", {("no-grade", "contradiction")})
    assert found.summary[0] == (
        "No part that has a grade changes it, but some without one cannot be told any more. Where a place "
        "has its own value of heavy steel thickness, parts can be graded otherwise that are not elsewhere."
    )
    back = changed(after, before)
    assert (back.kind, ends(back)) == ("adds", {("contradiction", "no-grade")})
    assert back.summary[0] == (
        "No part changes its grade, and none gets one, but what could not be told of some can be now."
    )


def test_what_cannot_be_told_may_be_refused_otherwise() -> None:
    """A metal that no part can have is taken off: nothing that could be told is lost."""
    before = bare()
    before["attributes"]["metal"]["choices"]["gold"] = "not here"
    before["impossible"].append({"id": "gold", "when": {"metal": "gold"}, **ENTRY})
    after = bare()
    found = changed(before, after)
    assert (found.kind, ends(found)) == ("adds", {("contradiction", "not-described")})
    assert found.summary[0] == (
        "No part changes its grade, and none gets one: what cannot be told is refused otherwise."
    )


def test_what_is_told_of_more_things_contradicts_no_other() -> None:
    """One thing more is an addition, one less a loss; the same things in other words are neither."""
    copper, steel = {"metal": "copper"}, {"metal": "steel", "steel_screws": False}
    found = changed(told_of(copper), told_of(copper, steel))
    assert (found.kind, ends(found)) == ("adds", {("contradiction", "grade")})
    [line] = [each for each in found.summary if each.startswith("Foreign share: ")]
    assert line.startswith(
        "Foreign share: to be told only where metal is copper, or metal is steel and steel screws is no "
        "(before: where metal is copper). For example: "
    )
    lost = changed(told_of(copper, steel), told_of(copper))
    assert (lost.kind, ends(lost)) == ("changes", {("grade", "contradiction")})
    assert lost.summary[0].startswith("No part changes its grade, but what can be told of some things only")
    same = changed(told_of(copper, steel), told_of(steel, copper, {**copper, "steel_screws": True}))
    assert (same.kind, list(same.moves)) == ("beside", [])


@pytest.mark.parametrize("is_new", [True, False])
def test_what_contradicts_itself_by_what_is_told_is_shown(is_new: bool) -> None:
    """By one description for each entry, so by both graders, and not when one observation is left out."""
    versions = bare(), told_of({"metal": "copper", "steel_screws": False})
    before, after = versions if is_new else versions[::-1]
    found = changed(before, after)
    [move] = found.moves
    [way] = move.ways
    assert (way.by, move.all_ways) == ("dirt", False)
    assert (way.rule_before is None, way.rule_after is None) == (not is_new, is_new)
    books = [read(before), read(after)]
    graded, contradicts = (Grader(book) for book in (books if is_new else books[::-1]))
    whole = read_observations(books[0].attributes, way.part)
    assert "foreign_share" in whole
    for left_out in (None, *whole):
        part = {name: value for name, value in whole.items() if name != left_out}
        had, has_not = graded.grade(part), contradicts.grade(part)
        same = isinstance(had, Graded) and had.grade == (move.before if is_new else move.after).grade
        assert (same and isinstance(has_not, Contradiction)) == (left_out is None), (part, had, has_not)
    [line] = [each for each in found.summary if each.startswith("Foreign share: ")]
    assert line.endswith(f"For example: {way.says}")


def test_an_order_that_is_shortened_contradicts_nothing_more() -> None:
    """What was out of the longer order is answered now; back, it is taken for a contradiction."""
    found = changed(in_order(*SIDES), in_order(*SIDES[:2]))
    assert (found.kind, {before for before, _ in ends(found)}) == ("adds", {"contradiction"})
    assert found.summary[0].startswith("No part that has a grade changes it")
    [line] = [each for each in found.summary if each.startswith("Of width")]
    assert line.startswith(
        "Of width, depth none is more than the one before it; no contradiction any more: "
        "thickness above the depth or thickness above the width. There are such parts of "
    )
    assert "now taken for a contradiction" not in line
    back = changed(in_order(*SIDES[:2]), in_order(*SIDES))
    assert (back.kind, back.summary[0]) == ("changes", "Some parts change their grade.")
    [line] = [each for each in back.summary if each.startswith("Of width")]
    assert line.startswith(
        "Of width, depth, thickness none is more than the one before it; now taken for a contradiction: "
        "thickness above the depth or thickness above the width. There are such parts of "
    )


def test_an_order_that_means_the_same_changes_no_grade() -> None:
    """Under another name the same measures contradict each other."""
    found = changed(in_order(*SIDES), in_order(*SIDES, name="others"))
    assert (found.kind, list(found.moves)) == ("beside", [])
    assert not [each for each in found.summary if "contradiction" in each]
    assert "Of width, depth, thickness none is more than the one before it, as before." in found.summary


@pytest.mark.parametrize("measures", [("width", "thickness"), ("width", "depth")])
def test_measures_between_the_same_two_cut_points_contradict_each_other_all_the_same(
    measures: tuple[str, str],
) -> None:
    """Of thin steel no clause parts them, and of two that no rule asks for none of anything: every grade has
    parts that cannot be told any more, and what shows one is answered so by both graders."""
    before = bare()
    for side in ("width", "depth"):
        before["attributes"][side] = dict(before["attributes"]["thickness"])
    after = copy.deepcopy(before)
    after["largest_first"] = [{"id": "sides", "measures": list(measures), **ENTRY}]
    books = [read(each) for each in (before, after)]
    found = changed(before, after)
    assert (found.kind, found.summary[0]) == ("changes", "Some parts change their grade.")
    assert {move.before.grade for move in found.moves} == {
        "copper-no1", "copper-residue", "steel-heavy", "light-iron",
    }  # fmt: skip
    [line] = [each for each in found.summary if each.startswith("Of width")]
    assert "There are such parts of 4 grades, for example: " in line
    for move in found.moves:
        [way] = move.ways
        part = read_observations(books[0].attributes, way.part)
        graded, refused = (Grader(book).grade(part) for book in books)
        assert isinstance(graded, Graded)
        assert graded.grade == move.before.grade
        assert isinstance(refused, Contradiction)
    back = changed(after, before)
    assert (back.kind, len(back.moves)) == ("adds", 4)
    assert back.summary[0] == (
        "No part that has a grade changes it, once all is known of it; others are answered now."
    )


def test_an_order_by_which_nothing_is_ruled_out_that_could_be_changes_no_grade() -> None:
    """Where the measures could not be out of it anyway, no part moves: it is told, and no more."""
    before = bare()
    for side in ("width", "depth"):
        before["attributes"][side] = dict(before["attributes"]["thickness"])
    wide, deep = {"width": {"below": "5 mm"}}, {"depth": {"at_least": "5 mm"}}
    before["impossible"] += [{"id": "narrow", "when": wide, **ENTRY}, {"id": "deep", "when": deep, **ENTRY}]
    after = copy.deepcopy(before)
    after["largest_first"] = [{"id": "sides", "measures": ["width", "depth"], **ENTRY}]
    for versions in ((before, after), (after, before)):
        found = changed(*versions)
        assert (found.kind, list(found.moves), found.also) == ("beside", [], ("largest_first",))


def test_what_is_out_of_an_order_that_is_gone_is_no_contradiction_in_new_words() -> None:
    """Of a metal that is new: nobody could describe it, and now it is graded in whatever order."""
    before = {**bare(), "largest_first": [{"id": "sides", "measures": ["width", "depth"], **ENTRY}]}
    for side in ("width", "depth"):
        before["attributes"][side] = dict(before["attributes"]["thickness"])
    after = copy.deepcopy(before)
    after["attributes"]["metal"]["choices"]["zinc"] = "grey"
    zinc = {"grade": "light-iron", "when": {"metal": "zinc", "width": {"below": "5 mm"}}}
    after["rules"].append({**after["rules"][0], "id": "zinc", **zinc})
    found = changed(before, after)
    assert ends(found) == {("not-described", each) for each in ("grade", "no-grade", "contradiction")}
    del after["largest_first"]
    assert ("not-described", "contradiction") not in ends(changed(before, after))
