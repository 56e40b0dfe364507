"""`rulebooks check` tells what can never matter in a rulebook, and only that."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator
from typing import Any

import pytest
from tests.samples import document

from gradewright.core.errors import Fault
from gradewright.core.grading import Contradiction, Graded, Grader
from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.check import check
from gradewright.rulebooks.document import read

RULE = {"because": "x", "source": "made for tests", "confidence": "published"}


def with_rule(where: int, rule_id: str, grade: str, when: dict[str, Any]) -> dict[str, Any]:
    """The small rulebook with one more rule at a place in the order."""
    source = document()
    source["grades"]["copper-no2"]["by_name_only"] = True
    source["rules"].insert(where, {"id": rule_id, "grade": grade, "when": when, **RULE})
    return source


def told(source: dict[str, Any]) -> tuple[Fault, ...]:
    """What the check says of a document."""
    return check(read(source))


def test_a_rule_after_one_that_asks_less_is_hidden() -> None:
    """A rule with the conditions of an earlier one and one more is told, with the rule that hides it."""
    when = {"metal": "copper", "steel_screws": True, "thickness": {"above": "1 mm"}}
    (fault,) = told(with_rule(1, "screwed-plate", "copper-residue", when))
    assert fault.at == ("rules", 1)
    assert (
        "rule screwed-plate: it can never decide: whatever meets it meets rule copper-with-screws"
        in fault.detail
    )


@pytest.mark.parametrize(
    ("when", "hides"),
    [
        ({"metal": "steel", "thickness": {"above": "6.35 mm"}}, "thick-steel"),
        ({"metal": "steel", "thickness": {"at_least": "6.35 mm", "below": "9 mm"}}, "thick-steel"),
        ({"metal": "steel", "thickness": "1/4 in"}, "thick-steel"),
        ({"metal": "steel", "thickness": ["1 mm", "2 mm"]}, "thin-steel"),
        # What sticks to a magnet is no copper, so it is the only other metal: steel.
        ({"sticks_to_magnet": True, "thickness": "1 mm"}, "thin-steel"),
    ],
)
def test_a_narrower_range_is_hidden(when: dict[str, Any], hides: str) -> None:
    """Bounds, values and lists inside those of an earlier rule are hidden, and what follows from them."""
    (fault,) = told(with_rule(4, "late", "light-iron", when))
    assert (fault.at, f"meets rule {hides} before it" in fault.detail) == (("rules", 4), True)


def test_rules_that_hide_another_only_together_are_all_named() -> None:
    """Where no single earlier rule is enough, those that share the parts out are named."""
    (fault,) = told(with_rule(4, "any-steel", "light-iron", {"metal": "steel", "steel_screws": False}))
    assert "one of the rules thick-steel, thin-steel before it" in fault.detail


@pytest.mark.parametrize(
    "when",
    [
        {"metal": "steel", "thickness": {"at_least": "6.34 mm"}},
        {"metal": ["copper", "steel"], "thickness": {"at_least": "6.3 mm"}},
        {"metal": "steel", "steel_screws": True},
        {"thickness": {"above": "1 mm"}},
    ],
)
def test_a_rule_that_some_part_reaches_is_not_told(when: dict[str, Any]) -> None:
    """A rule that an earlier one hides only in part is sound."""
    assert told(with_rule(3, "late", "light-iron", when)) == ()


def test_a_rule_that_no_part_can_meet_is_told() -> None:
    """Conditions that `impossible` excludes together are told with its entry."""
    (fault,) = told(with_rule(0, "lodestone", "copper-no1", {"metal": "copper", "sticks_to_magnet": True}))
    assert fault.at == ("rules", 0)
    assert fault.detail == "rule lodestone: no part can meet it: `impossible` has it: magnetic-copper"


@pytest.mark.parametrize(
    ("when", "says"),
    [
        ({"thickness": {"above": "9 mm", "below": "3 mm"}}, "no thickness is above 9 mm and below 3 mm"),
        ({"foreign_share": {"above": "100 %"}}, "no foreign_share is above 100 %"),
    ],
)
def test_bounds_that_leave_nothing_are_told(when: dict[str, Any], says: str) -> None:
    """A range with nothing in it is told in its words."""
    (fault,) = told(with_rule(0, "none", "copper-no1", when))
    assert fault.detail == f"rule none: no part can meet it: {says}"


@pytest.mark.parametrize(
    ("change", "at"),
    [
        (lambda d, w: d["cautions"]["sharp"]["when"].append(w), ("cautions", "sharp", "when", 1)),
        (lambda d, w: d["cautions"]["sharp"]["unless"].append(w), ("cautions", "sharp", "unless", 1)),
        (
            lambda d, w: d["preparations"]["back-out-screws"].update(when=w),
            ("preparations", "back-out-screws", "when"),
        ),
    ],
    ids=["a caution", "an exception", "a preparation"],
)
def test_other_clauses_that_no_part_can_meet_are_told(change: Any, at: tuple[str | int, ...]) -> None:
    """A caution that can never be shown, or work that never applies, is told with what excludes it."""
    source = document()
    source["grades"]["copper-no2"]["by_name_only"] = True
    change(source, {"metal": "copper", "sticks_to_magnet": True})
    (fault,) = told(source)
    assert fault.at == at
    assert "no part can meet this: `impossible` has it: magnetic-copper" in fault.detail


def test_an_attribute_that_nothing_uses_is_told() -> None:
    """An attribute that no clause asks for and no work changes is told; one that work changes is used."""
    source = document()
    source["grades"]["copper-no2"]["by_name_only"] = True
    source["attributes"]["colour"] = {**source["attributes"]["steel_screws"], "asks": "What colour?"}
    (fault,) = told(source)
    assert fault.at == ("attributes", "colour")
    assert fault.detail.startswith(
        "attribute colour: no rule, impossible description, preparation or caution"
    )
    source["preparations"]["back-out-screws"]["changes"]["colour"] = None
    assert told(source) == ()


def random_rules(seed: int) -> dict[str, Any]:
    """The small rulebook with eight rules and four contradictions drawn at random."""
    draw = random.Random(seed)
    yes_no = {name: [True, False] for name in ("sticks_to_magnet", "steel_screws")}
    thickness: list[Any] = [
        "5 mm",
        {"below": "5 mm"},
        {"at_least": "5 mm"},
        {"above": "5 mm", "below": "9 mm"},
    ]
    values: dict[str, list[Any]] = {"metal": ["copper", "steel"], **yes_no, "thickness": thickness}

    def clause() -> dict[str, Any]:
        names = draw.sample(sorted(values), draw.choice([1, 2, 2, 3]))
        return {name: draw.choice(values[name]) for name in names}

    source = document(examples=[], preparations={}, cautions={}, limits={})
    source["impossible"] = [
        {"id": f"i{n}", "when": {**clause(), **clause()}, "because": "x", "source": "x"} for n in range(4)
    ]
    grades = list(source["grades"])
    source["rules"] = [
        {"id": f"r{n}", "grade": draw.choice(grades), "when": clause(), **RULE} for n in range(8)
    ]
    return source


def whole_parts(book: Rulebook) -> Iterator[dict[str, Any]]:
    """Every part that the small rulebook can tell from another, known whole."""
    thickness = [book.attributes["thickness"].read(f"{mm} mm") for mm in (4, 5, 7, 9, 10)]
    for metal, magnet, screws, thick in itertools.product(
        ("copper", "steel"), (True, False), (True, False), thickness
    ):
        yield {"metal": metal, "sticks_to_magnet": magnet, "steel_screws": screws, "thickness": thick}


@pytest.mark.parametrize("seed", range(40))
def test_what_is_told_is_what_trying_every_part_shows(seed: int) -> None:
    """A rule is told if and only if no part at all, each graded whole, ends at it."""
    book = read(random_rules(seed))
    grader = Grader(book)
    outcomes = [grader.grade(part) for part in whole_parts(book)]
    deciding = {outcome.rule.id for outcome in outcomes if isinstance(outcome, Graded)}
    expected = [rule.id for rule in book.rules if rule.id not in deciding]
    found = [book.rules[int(fault.at[1])].id for fault in check(book) if fault.at[0] == "rules"]
    assert found == expected
    assert any(isinstance(outcome, Contradiction) for outcome in outcomes)
