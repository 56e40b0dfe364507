"""Measures in their order, as a document says it, and as two versions are compared by it."""

from __future__ import annotations

from typing import Any

import pytest
from tests.samples import document

from gradewright.core.errors import RulebookError
from gradewright.core.grading import Grader
from gradewright.core.rulebook import LargestFirst
from gradewright.rulebooks.check import check, wrong_examples
from gradewright.rulebooks.comparison import compare
from gradewright.rulebooks.document import read
from gradewright.rulebooks.proof import prove

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


def test_an_order_that_is_new_is_told_once_and_nothing_else_moves() -> None:
    """What is out of order is a contradiction now: told in one sentence, not for each grade; and back."""
    before, after = made(), made(ORDER)
    found = compare((read(before), before), (read(after), after))
    assert (found.kind, found.moves) == ("changes", [])
    assert found.summary[1:] == [
        "Of width, thickness none is more than the one before it: what has more is now named as "
        "sides-out-of-order."
    ]
    back = compare((read(after), after), (read(before), before))
    assert (back.kind, back.moves) == ("adds", [])
    assert "not held against each other any more" in back.summary[1]


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
