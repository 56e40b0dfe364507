"""Measures in their order, as a document says it, and as two versions are compared by it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from tests.samples import document

from gradewright.core.errors import RulebookError
from gradewright.core.grading import Contradiction, Graded, Grader, Ungraded
from gradewright.core.observations import read_observations
from gradewright.core.rulebook import LargestFirst
from gradewright.rulebooks.check import check, wrong_examples
from gradewright.rulebooks.comparison import Comparison, compare
from gradewright.rulebooks.document import from_yaml, read
from gradewright.rulebooks.proof import prove

PUBLISHED = Path(__file__).parents[2] / "service" / "gradewright" / "rulebooks" / "published"
ORDER: dict[str, Any] = {
    "id": "sides-out-of-order",
    "measures": ["width", "thickness"],
    "because": "No sheet is thicker than wide.",
    "source": "-",
}
OUT_OF_ORDER = {"metal": "steel", "width": "2 mm", "thickness": "9 mm"}


def made(*orders: dict[str, Any]) -> dict[str, Any]:
    """The small document with a width, and so many orders."""
    found = document()
    width = {**found["attributes"]["thickness"], "asks": "How wide?"}
    found["attributes"] = {**found["attributes"], "width": width}
    found["cautions"]["sharp"]["when"].append({"width": {"below": "1 mm"}})
    return {**found, "largest_first": list(orders)} if orders else found


def test_an_order_is_read_and_kept_in_the_document_only_where_there_is_one() -> None:
    """Measures, reason and source; a document without orders has none."""
    assert read(made()).largest_first == ()
    [order] = read(made(ORDER)).largest_first
    assert order == LargestFirst(
        "sides-out-of-order", ("width", "thickness"), "No sheet is thicker than wide.", "-"
    )


def test_an_example_may_be_out_of_order() -> None:
    """A worked example names the order as what contradicts it, and one that claims a grade is wrong."""
    source = made(ORDER)
    source["examples"].append({"part": OUT_OF_ORDER, "contradiction": "sides-out-of-order"})
    assert not wrong_examples(Grader(read(source)))
    source["examples"].append({"part": OUT_OF_ORDER, "grade": "steel-heavy"})
    assert len(wrong_examples(Grader(read(source)))) == 1


@pytest.mark.parametrize(
    ("orders", "at"),
    [
        ([{**ORDER, "measures": ["width"]}], ("largest_first", 0, "measures")),
        ([{**ORDER, "measures": ["width", "hight"]}], ("largest_first", 0, "measures")),
        ([{**ORDER, "measures": ["width", "metal"]}], ("largest_first", 0, "measures")),
        ([{**ORDER, "measures": ["width", "foreign_share"]}], ("largest_first", 0, "measures")),
        ([{**ORDER, "measures": ["width", "width"]}], ("largest_first", 0, "measures")),
        ([ORDER, ORDER], ("largest_first", 0)),
        ([{**ORDER, "id": "magnetic-copper"}], ("largest_first", 0)),
        ([{**ORDER, "sides": []}], ("largest_first", 0, "sides")),
    ],
)
def test_an_order_that_says_nothing_is_told_at_its_place(
    orders: list[dict[str, Any]], at: tuple[str | int, ...]
) -> None:
    """One measure, one that is not known, a choice, another kind, one twice, a name twice, a key too many."""
    with pytest.raises(RulebookError) as refusal:
        read(made(*orders))
    assert at in [fault.at for fault in refusal.value.faults]


def moved_as_told(before: dict[str, Any], after: dict[str, Any], *, is_new: bool) -> Comparison:
    """A comparison of which each move to what an order rules out, or back, is so by both graders, and not
    when any of its observations is left out."""
    old, new = read(before), read(after)
    found = compare((old, before), (new, after))
    graders = [Grader(book) for book in ((old, new) if is_new else (new, old))]
    for move in found.moves:
        end = move.before if is_new else move.after
        whole = read_observations(old.attributes, move.ways[-1].part)
        for left_out in (None, *whole):
            part = {name: value for name, value in whole.items() if name != left_out}
            had, has_not = (each.grade(part) for each in graders)
            grade = had.grade if isinstance(had, Graded) else None
            same = isinstance(had, Graded if end.grade else Ungraded) and grade == end.grade
            assert (same and isinstance(has_not, Contradiction)) == (left_out is None), (part, had, has_not)
    return found


@pytest.mark.parametrize("is_new", [True, False])
def test_an_order_moves_every_grade_that_parts_out_of_it_have(is_new: bool) -> None:
    """What is out of order is a contradiction now: each grade with a part of it by both graders, told in one
    sentence with the grades counted; and back, where the order is gone."""
    versions = made(), made(ORDER)
    found = moved_as_told(*(versions if is_new else versions[::-1]), is_new=is_new)
    assert found.kind == ("changes" if is_new else "adds")
    ends = [(move.before, move.after) if is_new else (move.after, move.before) for move in found.moves]
    grades = {rule.grade for rule in read(made()).rules}
    assert {had.grade for had, _ in ends if had.grade} == grades
    assert {now.answered for _, now in ends} == {"contradiction"}
    [line] = found.summary[1:]
    says = (
        "Of width, thickness none is more than the one before it: what has more is now taken for a "
        "contradiction."
        if is_new
        else "Measures are not held against each other any more (sides-out-of-order)."
    )
    assert line.startswith(f"{says} There are such parts of {len(grades)} grades, for example: ")


@pytest.mark.campaign
def test_the_order_of_the_shipped_rulebook_moves_a_plate_wider_than_long() -> None:
    """In 2027.3 heavy steel, as nearly every other grade, has parts that are a contradiction now."""
    before, after = (from_yaml((PUBLISHED / f"2027.{n}.yaml").read_text(encoding="utf-8")) for n in "23")
    found = moved_as_told(before, after, is_new=True)
    assert {"steel-heavy", "phones"} <= {move.before.grade for move in found.moves}


def test_a_rule_that_only_parts_out_of_order_meet_can_never_decide() -> None:
    """Both the check and the proof tell it, and that it is the order that leaves it no part."""
    source = made(ORDER)
    rule = source["rules"][0]
    impossible = {"metal": "steel", "width": {"below": "2 mm"}, "thickness": {"at_least": "9 mm"}}
    source["rules"].insert(0, {**rule, "id": "thicker-than-wide", "when": impossible})
    told = [fault.detail for fault in check(read(source))]
    assert any("thicker-than-wide" in each and "sides-out-of-order" in each for each in told)
    [finding] = [f for f in prove(read(source)).findings if f.kind == "never-decides"]
    assert "thicker-than-wide" in finding.says
    assert "sides-out-of-order" in finding.says
