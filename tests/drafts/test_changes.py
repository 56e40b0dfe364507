"""What an edit has changed, place by place."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from gradewright.drafts.changes import changes
from tests.samples import document

RULES = document()["rules"]


def told(after: dict[str, Any]) -> list[tuple[str, str]]:
    """Kind and place of every change of the small rulebook."""
    return [(one.change, one.place) for one in changes(document(), after)]


def test_nothing_differs_from_itself() -> None:
    """The same document has no changes."""
    assert changes(document(), document()) == []


def test_a_rule_is_followed_by_its_id() -> None:
    """A rule put in front of others is one addition; the others have not changed."""
    new = {**RULES[0], "id": "new-rule"}
    assert told(document(rules=[new, *RULES])) == [("added", "rule new-rule")]
    assert told(document(rules=RULES[1:])) == [("removed", "rule copper-with-screws")]


def test_what_was_taken_out_of_a_rule_that_has_moved() -> None:
    """It is told by the rule that had it, and leads to where that stood, however many stand before it now."""
    *others, last = RULES
    shorter = {**last, "when": {name: asked for name, asked in last["when"].items() if name != "thickness"}}
    new = [{**RULES[0], "id": f"new-{number}"} for number in range(3)]
    found = changes(document(), document(rules=[*new, *others, shorter]))
    assert [(one.change, one.place) for one in found if one.change != "added"] == [
        ("removed", f"rule {last['id']}, when thickness")
    ]
    assert [one.at for one in found if one.change == "removed"] == [
        ("rules", len(RULES) - 1, "when", "thickness")
    ]


def test_the_order_of_rules_is_a_change() -> None:
    """The first rule that holds wins: rules in another order are told as such, once."""
    [found] = changes(document(), document(rules=[RULES[1], RULES[0], *RULES[2:]]))
    assert (found.change, found.at, found.place) == ("reordered", ("rules",), "rules")
    assert found.before == '["copper-with-screws", "clean-copper", "thick-steel", "thin-steel"]'
    assert found.after == '["clean-copper", "copper-with-screws", "thick-steel", "thin-steel"]'


def test_the_order_of_names_is_a_change() -> None:
    """Attributes are asked in their order, so that two that changed places are a change."""
    attributes = document()["attributes"]
    assert told(document(attributes=dict(reversed(attributes.items())))) == [("reordered", "attributes")]


def test_a_value_inside_a_rule() -> None:
    """The place leads to the value, in words and as a path; before and after are JSON."""
    after = document()
    after["rules"][2]["when"]["thickness"] = {"above": "7 mm"}
    assert [(one.change, one.at, one.place, one.before, one.after) for one in changes(document(), after)] == [
        (
            "removed",
            ("rules", 2, "when", "thickness", "at_least"),
            "rule thick-steel, when thickness at_least",
            '"heavy_steel_thickness"',
            None,
        ),
        (
            "added",
            ("rules", 2, "when", "thickness", "above"),
            "rule thick-steel, when thickness above",
            None,
            '"7 mm"',
        ),
    ]


def test_examples_are_aligned_without_ids() -> None:
    """An example put in between is one addition; one that is mended is changed where it is."""
    examples = copy.deepcopy(document()["examples"])
    new = {"part": {"metal": "steel", "thickness": "9 mm"}, "grade": "steel-heavy", "note": "new"}
    assert told(document(examples=[examples[0], new, *examples[1:]])) == [("added", "example 2")]
    examples[3]["note"] = "mended"
    assert told(document(examples=examples)) == [("changed", "example 4, note")]
    assert told(document(examples=examples[:3] + examples[4:])) == [("removed", "example 4")]


@pytest.mark.parametrize(
    ("before", "after"), [(True, 1), (1, "1"), (None, False), ([1], {"0": 1}), ("", None)]
)
def test_values_of_other_kinds_differ(before: Any, after: Any) -> None:
    """What JSON tells apart is a change, also where Python would call it equal."""
    assert [one.change for one in changes({"title": before}, {"title": after})] == ["changed"]


def test_long_values_are_cut() -> None:
    """A change tells at most 200 characters of each side."""
    [found] = changes({"title": "a"}, {"title": "b" * 1000})
    assert found.after is not None
    assert (len(found.after), found.after[-1]) == (200, "…")
