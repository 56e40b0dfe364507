"""How sure a rule is, and lists of cautions and work that come or go, in words of people who sell."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from tests.api import small_rulebook
from tests.rulebooks.test_comparison_told import changed

Document = dict[str, Any]
NOW, SETTLED = (
    {"confidence": "disputed", "settled_by": "Two tickets of one bin."},
    "Heavy steel by rule thick-steel",
)
HEAVY = 2


def rule(**keys: str) -> Document:
    """The small rulebook, in which the rule for heavy steel says so."""
    source = small_rulebook()
    source["rules"][HEAVY] |= keys
    return source


@pytest.mark.parametrize(
    ("before", "after", "says"),
    [
        (rule(), rule(**NOW), "is disputed now. What would settle it: Two tickets of one bin."),
        (rule(), rule(confidence="disputed"), "is disputed now. What would settle it: nothing is said."),
        (rule(**NOW), rule(), "is not disputed any more: it is published."),
        (rule(), rule(confidence="common-practice"), "is common practice now (published before)."),
    ],
)
def test_a_rule_that_is_disputed_is_told(before: Document, after: Document, says: str) -> None:
    """Newly, or no more, with what would settle it: no part changes its grade, and yet it is no wording."""
    found = changed(before, after)
    assert (found.kind, found.also, list(found.moves)) == ("beside", ("rules",), [])
    assert found.summary[0] == (
        "No part changes its grade: of the grading rules no more than wording changes. One other change."
    )
    assert list(found.summary[1:]) == [f"{SETTLED} {says}"]


def test_what_would_settle_a_dispute_is_told_otherwise() -> None:
    """In one sentence, as both are about one rule; other words of a rule are wording."""
    found = changed(rule(**NOW), rule(**{**NOW, "settled_by": "One ticket."}))
    assert found.summary[1] == f"{SETTLED}: what would settle the dispute is told otherwise: One ticket."
    assert changed(rule(), rule(because="Thick.")).kind == "wording"


def test_a_dispute_under_another_id_is_told() -> None:
    """A rule that is replaced by one that is disputed, or not any more, for parts that keep their grade: also
    for some of them only. Where all are as sure as before it is wording, whatever the ids are."""
    thin = {"metal": "steel", "thickness": {"at_least": "heavy_steel_thickness", "below": "20 mm"}}
    before, after, some, same = rule(), rule(**NOW, id="other"), rule(), rule(id="other")
    some["rules"].insert(HEAVY, {**rule(**NOW)["rules"][HEAVY], "id": "thin", "when": thin})
    disputed = "Heavy steel by rule {} is disputed now. What would settle it: Two tickets of one bin."
    for one, other, says in (
        (before, after, f"{disputed.format('other')[:-1]} (before: by rule thick-steel)."),
        (before, some, f"{disputed.format('thin')[:-1]} (before: by rule thick-steel)."),
        (after, before, f"{SETTLED} is not disputed any more: it is published (before: by rule other)."),
    ):
        found = changed(one, other)
        assert (found.kind, found.also, list(found.moves)) == ("beside", ("rules",), [])
        assert list(found.summary[1:]) == [says]
    for one, other in ((before, same), (after, rule(**NOW))):
        assert changed(one, other).kind == "wording"


def test_of_a_dispute_only_what_changes_for_parts_that_keep_their_grade_is_told() -> None:
    """Nothing of a rule that keeps its id, be it moved, and of parts that move; what would settle it is told,
    and all such rules in their order."""
    before = rule(**NOW)
    moved = copy.deepcopy(before)
    moved["rules"].insert(0, moved["rules"].pop(HEAVY))
    assert changed(before, moved).kind == "wording"
    goes = rule(**NOW, id="other", grade="light-iron")
    for each in (before, goes):
        each["examples"] = []
        each["grades"]["steel-heavy"]["by_name_only"] = True
    found = changed(before, goes)
    assert found.kind == "changes"
    assert not [each for each in found.differences.besides if each.section == "rules"]
    settled = changed(rule(**NOW), rule(**{**NOW, "settled_by": "One ticket."}, id="other"))
    assert settled.summary[1] == (
        "Heavy steel by rule other: what would settle the dispute is told otherwise: One ticket (before: by "
        "rule thick-steel)."
    )
    [told] = settled.differences.besides
    assert [(each.at, each.before, each.after) for each in told.changed] == [
        (("rules", "other", "settled_by"), "Two tickets of one bin.", "One ticket.")
    ]
    several = rule()
    for number, each in enumerate(several["rules"]):
        each |= {**NOW, "id": f"new-{number}"}
    found = changed(rule(), several)
    assert [each.entry for each in found.differences.besides] == [
        f"new-{number}" for number in range(len(several["rules"]))
    ]


def test_a_rule_that_takes_other_parts_is_more_than_disputed() -> None:
    """What it asks for moves parts as before; that it is disputed is told besides."""
    after = rule(**NOW)
    after["rules"][HEAVY]["when"] = {"metal": "steel", "thickness": {"at_least": "5 mm"}}
    after["rules"][HEAVY + 1]["when"] = {"metal": "steel", "thickness": {"below": "5 mm"}}
    before = rule()
    for each in (before, after):
        each["examples"] = []
        each["cautions"]["sharp"]["unless"] = [{"thickness": {"at_least": "heavy_steel_thickness"}}]
    found = changed(before, after)
    assert (found.kind, len(found.moves), found.also) == ("changes", 1, ("rules",))


@pytest.mark.parametrize(
    ("section", "entry", "key", "value", "came", "went"),
    [
        (
            "cautions", "dust", "grades", ["copper-residue"],
            "now for every part graded as Copper-bearing residue",
            "no longer for every part graded as Copper-bearing residue",
        ),
        (
            "cautions", "sharp", "unless", [{"thickness": {"at_least": "20 mm"}}],
            "no longer where thickness at least 20 mm", "now also where thickness at least 20 mm",
        ),
        (
            "cautions", "dust", "when", [{"foreign_share": {"above": "50 %"}}],
            "now where foreign share above 50 %", "no longer where foreign share above 50 %",
        ),
        (
            "preparations", "back-out-screws", "cautions", ["sharp"],
            "now with the caution Sharp edges", "no longer with the caution Sharp edges",
        ),
    ],
)  # fmt: skip
def test_a_list_that_comes_or_goes_is_told_in_words(
    section: str, entry: str, key: str, value: list[Any], came: str, went: str
) -> None:
    """Who is warned where, and where not: nobody reads that a caution "grades nothing"."""
    there, gone = small_rulebook(), small_rulebook()
    there[section][entry][key] = value
    empty = copy.deepcopy(gone)
    gone[section][entry].pop(key, None)
    empty[section][entry][key] = []
    for without in (gone, *([empty] if key != "when" else ())):
        for before, after, says in ((there, without, went), (without, there, came)):
            [told] = changed(before, after).differences.besides
            assert told.says.endswith(f": {says}.")
