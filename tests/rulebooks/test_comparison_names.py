"""What grades are called, and what people write: told apart from what parts are graded as."""

from __future__ import annotations

import copy
import json
from typing import Any

from tests.api import small_rulebook

from gradewright.rulebooks.comparison import Comparison, compare
from gradewright.rulebooks.comparison_schemas import ComparisonOut
from gradewright.rulebooks.document import read

NOTHING_MOVES = "No part changes its grade: of the grading rules no more than wording changes."


def changed(before: dict[str, Any], after: dict[str, Any]) -> Comparison:
    """What the second of two documents changes."""
    return compare((read(before), before), (read(after), after))


def test_a_grade_with_another_name_is_renamed_and_its_old_name_not_read_any_more() -> None:
    """No part moves and none is said to: the grade has a new name, and who writes the old one is told."""
    before = small_rulebook()
    after = copy.deepcopy(before)
    old, after["grades"]["copper-no2"]["name"] = before["grades"]["copper-no2"]["name"], "Copper two"
    found = changed(before, after)
    assert (found.kind, found.moves) == ("beside", [])
    assert found.summary == [
        f"{NOTHING_MOVES} 2 other changes.",
        f"{old} is called Copper two now.",
        f"Copper two is not read any more where people write {old}: they are asked again.",
    ]
    told = ComparisonOut.of(found, read(before), read(after)).model_dump()
    assert told["grades"]["renamed"] == [
        {"before": "copper-no2", "after": "copper-no2", "name_before": old, "name_after": "Copper two"}
    ]
    assert told["names"] == [{"name": old, "before": "copper-no2", "after": None}]
    after["grades"]["copper-no2"]["aliases"] = [*before["grades"]["copper-no2"]["aliases"], old]
    kept = changed(before, after)
    assert (kept.kind, kept.summary[1:]) == ("wording", [f"{old} is called Copper two now."])


def test_an_alias_that_came_or_went_moves_no_part() -> None:
    """What is not read any more, what is read now, and what means another grade: each in its sentence."""
    before = small_rulebook()
    after = copy.deepcopy(before)
    after["grades"]["copper-no2"]["aliases"] = ["second copper"]
    name = before["grades"]["copper-no2"]["name"]
    gone = before["grades"]["copper-no2"]["aliases"]
    found = changed(before, after)
    assert (found.kind, found.moves, found.also) == ("beside", [], ())
    assert found.summary[1:] == [
        f"{name} is not read any more where people write {' or '.join(gone)}: they are asked again.",
        f"{name} is read now where people write second copper.",
    ]
    after["grades"]["copper-no1"]["aliases"] = [*before["grades"]["copper-no1"]["aliases"], gone[0]]
    found = changed(before, after)
    other = before["grades"]["copper-no1"]["name"]
    assert (found.kind, found.moves) == ("changes", [])
    assert found.summary[0].startswith("No part changes its grade as it is described, but ")
    assert f"The name {gone[0]} means {other} now ({name} before)." in found.summary


def test_a_grade_under_another_slug_changes_nothing_but_the_slug() -> None:
    """Wherever the slug stands it is the same grade: no part moves, no example has another answer, no price
    and no work is told to be otherwise."""
    before = small_rulebook()
    after = json.loads(json.dumps(before).replace('"copper-no2"', '"second-copper"'))
    found = changed(before, after)
    name = before["grades"]["copper-no2"]["name"]
    assert (found.kind, found.moves, found.also) == ("beside", [], ())
    assert found.summary == [
        f"{NOTHING_MOVES} 2 other changes.",
        "copper-no2 is called second-copper now.",
        f"{name} is not read any more where people write copper-no2: they are asked again.",
    ]
    assert (found.differences.examples, found.differences.others) == ([], [])
