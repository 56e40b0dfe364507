"""A grade that is named shows every caution of what its rules describe."""

from __future__ import annotations

from typing import Any

import pytest
from tests.samples import document

from gradewright.core.grading import Grader
from gradewright.rulebooks.document import read

STEEL: dict[str, Any] = {"metal": "steel"}
THICK: dict[str, Any] = {"metal": "steel", "thickness": {"at_least": "6.35 mm"}}


def named(grade: str, when: list[Any], unless: list[Any] | None = None, **changes: Any) -> bool:
    """Whether a caution with these clauses is shown with a grade that is only named."""
    source = document(**changes)
    if "rules" in changes:
        source["limits"] = {}
    source["cautions"]["tried"] = {
        "name": "Tried", "when": when, "unless": unless or [], "says": "x", "source": "x",
    }  # fmt: skip
    return "tried" in {caution.id for caution in Grader(read(source)).cautions(None, grade)}


@pytest.mark.parametrize("grade", ["steel-heavy", "light-iron"])
def test_what_a_rule_describes_is_warned_of(grade: str) -> None:
    """A caution whose clause follows from a rule's conditions is shown with the rule's grade."""
    assert named(grade, [STEEL])
    assert not named("copper-no1", [STEEL])
    assert not named("screws", [STEEL])  # sold by name: no rule gives it


def test_one_of_several_alternatives_is_enough() -> None:
    """An alternative among others that holds is enough; one that asks what no rule tells is not."""
    assert named("light-iron", [{"metal": "copper"}, STEEL])
    assert not named("light-iron", [{**STEEL, "steel_screws": True}])


def test_a_range_is_compared_with_the_rule_s() -> None:
    """A caution of thick steel goes with the grade of thick steel, from the limit on."""
    assert named("steel-heavy", [THICK])
    assert not named("light-iron", [THICK])
    assert named("light-iron", [{"metal": "steel", "thickness": {"below": "1 mm"}}])  # it may be as thin


def test_an_exception_counts_only_where_all_that_the_rule_describes_is_excepted() -> None:
    """What may be an exception and may be none is warned of; what is always one is not."""
    assert named("steel-heavy", [STEEL], [{"thickness": {"at_least": "20 mm"}}])
    assert not named("steel-heavy", [STEEL], [{"thickness": {"at_least": "3 mm"}}])
    assert named("steel-heavy", [STEEL], [{"foreign_share": {"above": "1 %"}}])  # nobody has looked


def rule(rule_id: str, grade: str, when: dict[str, Any]) -> dict[str, Any]:
    """A rule."""
    return {
        "id": rule_id,
        "grade": grade,
        "when": when,
        "because": "x",
        "source": "x",
        "confidence": "disputed",
    }


def test_any_value_of_a_list_may_be_meant() -> None:
    """A rule that takes several metals is warned of for each of them."""
    rules = [*document()["rules"], rule("either", "screws", {"metal": ["copper", "steel"]})]
    assert named("screws", [{"metal": "copper"}], rules=rules[-1:])
    assert named("screws", [{"metal": "steel"}], rules=rules[-1:])


def test_what_an_earlier_rule_takes_is_not_warned_of() -> None:
    """Parts that an earlier rule gives another grade to are no parts of this one."""
    rules = [rule("first", "light-iron", STEEL), rule("either", "screws", {"metal": ["copper", "steel"]})]
    assert not named("screws", [STEEL], rules=rules)
    assert named("screws", [{"metal": "copper"}], rules=rules)


def test_what_is_impossible_is_not_warned_of() -> None:
    """A description that cannot be is not one of a grade's."""
    when = {"metal": ["copper", "steel"], "sticks_to_magnet": True}
    rules = [rule("magnetic", "screws", when)]
    assert named("screws", [STEEL], rules=rules)
    assert not named("screws", [{"metal": "copper"}], rules=rules)


def test_the_cautions_come_in_the_document_s_order() -> None:
    """Those that list the grade and those of its rules stand together, in the order of the document."""
    source = document()
    source["cautions"]["dust"]["grades"].append("light-iron")
    grader = Grader(read(source))
    assert [caution.id for caution in grader.cautions(None, "light-iron")] == ["sharp", "dust"]
    assert grader.cautions(None, "light-iron") == grader.cautions(None, "light-iron")
