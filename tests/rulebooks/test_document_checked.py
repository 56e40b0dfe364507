"""A rulebook that can be read and does not do what it says is told so."""

from __future__ import annotations

from typing import Any

import pytest
from tests.rulebooks.changing import at, changed, faults_of
from tests.samples import document

from gradewright.rulebooks.check import check
from gradewright.rulebooks.document import read


def test_an_unsound_example_is_told_in_its_words() -> None:
    """An example that the rules do not bear out names the part as written, what is asked, what is given."""
    source = document()
    source["examples"][1]["grade"] = "steel-heavy"
    (fault,) = [fault for fault in check(read(source)) if fault.at[0] == "examples"]
    assert fault.at == ("examples", 1)
    assert "metal: steel, thickness: 6.34 mm" in fault.detail
    assert "steel-heavy is expected; light-iron is found, by rule thin-steel" in fault.detail


@pytest.mark.parametrize(
    ("example", "says"),
    [
        (
            {"part": {"metal": "copper"}, "candidates": ["copper-no1"]},
            "undecided between copper-no1 is expected",
        ),
        ({"part": {"metal": "copper"}, "ungraded": True}, "no grade is expected; undecided between"),
        ({"part": {"metal": "copper", "sticks_to_magnet": True}, "grade": "copper-no1"}, "a contradiction"),
        (
            {"part": {"metal": "steel", "thickness": "7 mm"}, "contradiction": "magnetic-copper"},
            "steel-heavy is found, by rule",
        ),
        ({"part": {"metal": "copper"}}, "names none"),
    ],
)
def test_every_kind_of_example_is_held(example: dict[str, Any], says: str) -> None:
    """Candidates, contradictions, no grade and no answer at all are compared with what is given."""
    source = document(examples=[example])
    assert any(says in fault.detail for fault in check(read(source)) if fault.at == ("examples", 0))


def test_kin_in_a_circle_are_found() -> None:
    """Grades that are priced as each other are told, each of them."""
    source = document()
    source["grades"]["copper-no1"]["priced_as"] = {"grade": "copper-residue", "factor": "2"}
    circles = [fault.at[1] for fault in check(read(source)) if "priced as itself" in fault.detail]
    assert circles == ["copper-no1", "copper-no2", "copper-residue"]


def test_a_grade_priced_as_itself_is_found() -> None:
    """The smallest circle is one too."""
    source = document()
    source["grades"]["screws"]["priced_as"] = {"grade": "screws", "factor": "1"}
    assert ("grades", "screws") in [fault.at for fault in check(read(source)) if "priced as" in fault.detail]


def test_a_grade_that_no_rule_gives_is_found() -> None:
    """A grade is given by a rule, or it is marked as sold by name only."""
    faults = [fault for fault in check(read(document())) if "no rule gives" in fault.detail]
    assert [fault.at for fault in faults] == [("grades", "copper-no2")]
    source = document()
    source["grades"]["copper-no2"]["by_name_only"] = True
    assert check(read(source)) == ()


def disputed(day: str, **of_the_rule: str) -> dict[str, Any]:
    """The small rulebook as of a day, its second rule disputed."""
    source = document(version="2026.9", effective_from=day)
    source["rules"][1] |= {"confidence": "disputed", **of_the_rule}
    return source


@pytest.mark.parametrize("day", ["2026-07-02", "2027-01-01"])
def test_a_disputed_rule_says_what_would_settle_it(day: str) -> None:
    """In a version from after 1 July 2026 a disputed rule without `settled_by` is a fault at the rule."""
    (fault,) = [fault for fault in check(read(disputed(day))) if fault.at == ("rules", 1)]
    assert fault.detail.startswith("rule clean-copper: it is disputed")
    settled = read(disputed(day, settled_by="Have it assayed."))
    assert settled.rules[1].settled_by == "Have it assayed."
    assert not [fault for fault in check(settled) if fault.at[0] == "rules"]


def test_older_versions_need_not_say_what_would_settle_it() -> None:
    """Versions up to 1 July 2026, which can never change, stay sound without it."""
    assert not [fault for fault in check(read(disputed("2026-07-01"))) if fault.at[0] == "rules"]


@pytest.mark.parametrize("confidence", ["published", "common-practice"])
def test_only_a_dispute_can_be_settled(confidence: str) -> None:
    """A rule that is not disputed and says what would settle it is refused."""
    source = changed(at("rules", 1, "settled_by", value="Have it assayed."))
    source["rules"][1]["confidence"] = confidence
    (fault,) = faults_of(source)
    assert fault.at == ("rules", 1)
    assert "only a rule whose `confidence` is disputed has `settled_by`" in fault.detail
