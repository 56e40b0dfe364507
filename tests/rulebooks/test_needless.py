"""What a rulebook says for nothing is told by its check."""

from __future__ import annotations

import copy
from typing import Any

from tests.samples import document

from gradewright.rulebooks import shipped
from gradewright.rulebooks.check import check
from gradewright.rulebooks.document import read, read_yaml
from gradewright.rulebooks.needless import needless, repeated_examples


def told(made: dict[str, Any]) -> list[tuple[object, ...]]:
    """The places of what the check finds that is there for nothing."""
    made["grades"]["copper-no2"]["by_name_only"] = True
    book = read(made)
    assert set(needless(book)) <= set(check(book))
    return [fault.at for fault in needless(book)]


def test_a_description_that_stands_twice_is_told() -> None:
    """Two impossible entries with the same conditions, in whatever order: the later one is pointed at."""
    made = document()
    entry = copy.deepcopy(made["impossible"][0])
    entry["when"] = dict(reversed(entry["when"].items()))
    made["impossible"].append({**entry, "id": "again"})
    assert told(made) == [("impossible", 1)]


def test_rules_of_a_grade_that_is_only_named_are_told() -> None:
    """A grade that is marked as sold by name alone, and that a rule gives, says two things."""
    made = document()
    made["grades"]["steel-heavy"]["by_name_only"] = True
    assert told(made) == [("grades", "steel-heavy", "by_name_only")]


def test_work_that_changes_nothing_is_told() -> None:
    """Work after which a part is as its condition asks, and of which nothing comes off, is for nothing; with
    something that comes off, or something that is to be looked at afresh, it is not."""
    made = document()
    work = made["preparations"]["back-out-screws"]
    work["changes"] = {"steel_screws": True}
    assert told(made) == []
    shed = work.pop("sheds")
    assert told(made) == [("preparations", "back-out-screws", "changes")]
    work["changes"] = {"steel_screws": None}
    assert told(made) == []
    assert shed


def test_an_example_that_stands_twice_is_a_note() -> None:
    """It does no harm: it is told beside the faults, with the number of the one before it, and all in one."""
    made = document()
    made["examples"].append({**made["examples"][0], "note": "once more"})
    assert told(made) == []
    assert list(repeated_examples(read(made))) == ["Example 6 is of the same part as 1."]
    made["examples"].append({**made["examples"][1], "note": "once more"})
    assert list(repeated_examples(read(made))) == [
        "Examples are of the same part as one before: 6 as 1, 7 as 2."
    ]


def test_what_ships_says_nothing_for_nothing() -> None:
    """No shipped version has any of it."""
    assert [fault for path in shipped.files()[-2:] for fault in needless(read_yaml(path))] == []
