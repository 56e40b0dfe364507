"""Limits that have another value, in what no grade depends on: who may be hurt there is told."""

from __future__ import annotations

import copy
from datetime import date
from typing import Any

import pytest
from tests.api import small_rulebook
from tests.rulebooks.test_comparison_class import ENTRY
from tests.rulebooks.test_comparison_told import changed, shipped

from gradewright.core.grading import Graded, Grader
from gradewright.core.house_limits import HouseLimit, under
from gradewright.core.observations import read_observations
from gradewright.rulebooks.comparison_schemas import ComparisonOut
from gradewright.rulebooks.document import read

Document = dict[str, Any]
DUSTY = {"value": "10 %", "means": "Dusty.", "source": "made for tests"}
WORK = "Preparation Back out the steel screws"
BY_LIMIT = {"metal": "copper", "foreign_share": {"above": "dusty"}}


def with_limit(section: str, entry: str, key: str) -> Document:
    """The small rulebook, in which one clause of an entry asks for a limit that no rule asks for."""
    source = small_rulebook()
    source["limits"]["dusty"] = dict(DUSTY)
    source[section][entry][key] = BY_LIMIT if (section, key) == ("preparations", "when") else [BY_LIMIT]
    return source


@pytest.mark.parametrize(
    ("section", "entry", "key", "says"),
    [
        ("cautions", "dust", "when", "Caution Dust: when metal copper and foreign share"),
        ("cautions", "dust", "unless", "Caution Dust: not where metal copper and foreign share"),
        ("preparations", "back-out-screws", "when", f"{WORK}: when foreign share"),
        ("preparations", "back-out-screws", "unless", f"{WORK}: not where metal copper and foreign share"),
    ],
)
def test_a_limit_of_a_caution_or_of_work_is_no_wording(section: str, entry: str, key: str, says: str) -> None:
    """Where no grade depends on it: the entry is told, with the value before and after."""
    before = with_limit(section, entry, key)
    after = copy.deepcopy(before)
    after["limits"]["dusty"]["value"] = "50 %"
    found = changed(before, after)
    assert (found.kind, found.also, list(found.moves)) == ("beside", (section,), [])
    assert found.summary[0].startswith(
        "No part changes its grade: of the grading rules no more than wording changes."
    )
    assert f"{says} above 50 % (10 % before)." in found.summary
    [told] = ComparisonOut.of(found, read(before), read(after)).besides
    assert [(each.at, each.before, each.after) for each in told.changed] == [
        (["limits", "dusty", "value"], "10 %", "50 %")
    ]


def test_a_limit_written_otherwise_is_wording() -> None:
    """The same value in other figures is the same limit."""
    before = with_limit("cautions", "dust", "unless")
    after = copy.deepcopy(before)
    after["limits"]["dusty"]["value"] = "10.0 %"
    assert changed(before, after).kind == "wording"


def test_what_changes_of_the_entry_itself_is_told_with_its_limit() -> None:
    """In one sentence; a clause that is new is told by itself, with its value now."""
    before = with_limit("cautions", "dust", "unless")
    after = copy.deepcopy(before)
    after["limits"]["dusty"]["value"] = "50 %"
    dust = after["cautions"]["dust"]
    dust["unless"].append({"foreign_share": {"below": "dusty"}})
    dust["says"] = "Hold your breath."
    [line] = [each for each in changed(before, after).summary if each.startswith("Caution")]
    assert "it says Hold your breath. (Wear a mask. before)" in line
    assert "not where also foreign share below 50 %" in line
    assert line.endswith("; not where metal copper and foreign share above 50 % (10 % before).")


def test_a_heater_that_is_not_warned_of_any_more_is_told() -> None:
    """Of the newest version: asbestos up to an earlier year takes the warning off a heater of 1970."""
    before = shipped("2027.4")
    after = {**copy.deepcopy(before), "version": "2027.9"}
    after["limits"]["asbestos_year"]["value"] = 1950
    part = {"assembly": "whole-device", "device_kind": "heater", "made_year": 1970}
    warned = []
    for source in (before, after):
        grader = Grader(read(source))
        concerned = grader.concerning(grader.read(read_observations(grader.rulebook.attributes, part)), None)
        warned.append("asbestos" in [each.id for each in (*concerned.certain, *concerned.possible)])
    assert warned == [True, False]
    found = changed(before, after)
    assert (found.kind, found.also) == ("beside", ("cautions",))
    [line] = [each for each in found.summary if each.startswith("Caution ")]
    assert "made year" in line
    assert "1950 (2000 before)" in line


@pytest.mark.parametrize("now", ["4 mm", "3 %"])
def test_a_move_is_told_by_a_limit_only_where_the_limit_still_draws_the_line(now: str) -> None:
    """What moved is told as it is described, where the rules draw their line elsewhere now: the limit has
    another value, or is of another kind, in a caution alone."""
    before, after = small_rulebook(), small_rulebook()
    after["limits"]["heavy_steel_thickness"]["value"] = now
    after["rules"][2]["when"]["thickness"] = {"at_least": "3 mm"}
    after["rules"][3]["when"]["thickness"] = {"below": "3 mm"}
    asked = "foreign_share" if now.endswith("%") else "thickness"
    after["cautions"]["sharp"]["when"] = [{asked: {"below": "heavy_steel_thickness"}}]
    after["examples"] = before["examples"] = []
    [move] = changed(before, after).moves
    [way] = move.ways
    assert way.says == (
        "Metal steel, thickness at least 3 mm and below 6.35 mm: was Light iron, is now Heavy steel."
    )


def by_limit(line: str, **limits: str) -> Document:
    """The small rulebook with these limits, and with this line between heavy steel and light iron."""
    source = small_rulebook()
    kept = source["limits"].pop("heavy_steel_thickness")
    source["limits"] = {name: {**kept, "value": value} for name, value in limits.items()}
    source["rules"][2]["when"]["thickness"] = {"at_least": line}
    source["rules"][3]["when"]["thickness"] = {"below": line}
    return source


HEAVY = by_limit("heavy_steel_thickness", heavy_steel_thickness="6.35 mm")
OWN = "No part changes its grade by the versions' own limits, but where a place has its own value of"
OTHERWISE = "parts can be graded otherwise."
GONE = (
    "The limit heavy steel thickness is gone (6.35 mm): thinnest heavy steel. A place's own value of it "
    "counts no more."
)


@pytest.mark.parametrize(
    ("after", "named", "told"),
    [
        (by_limit("thick", thick="6.35 mm"), "heavy steel thickness or thick", GONE),
        (by_limit("6.35 mm"), "heavy steel thickness", GONE),
    ],
    ids=["renamed", "a value in its place"],
)
def test_a_limit_that_is_gone_changes_grades_at_places_with_a_word_of_their_own_on_it(
    after: Document, named: str, told: str
) -> None:
    """By the rulebook's own values no part does: at a yard that begins heavy steel elsewhere some do."""
    books, place = [read(each) for each in (HEAVY, after)], date(2026, 1, 1)
    limit = HouseLimit("heavy_steel_thickness", "8 mm", "low-quay", "at Low Quay", place)
    part = read_observations(books[0].attributes, {"metal": "steel", "thickness": "7 mm"})
    graded = [Grader(book).grade(part) for here in books for book in (here, under(here, [limit])[0])]
    grades = [each.grade for each in graded if isinstance(each, Graded)]
    assert grades == ["steel-heavy", "light-iron", "steel-heavy", "steel-heavy"]
    for versions in ((HEAVY, after), (after, HEAVY)):
        found = changed(*versions)
        assert (found.kind, list(found.moves)) == ("changes", [])
        assert found.summary[0] in (
            f"{OWN} {named}, {OTHERWISE}",
            f"{OWN} {' or '.join(reversed(named.split(' or ')))}, {OTHERWISE}",
        )
    assert told in changed(HEAVY, after).summary


def test_a_limit_that_is_gone_is_told_where_other_parts_move_too() -> None:
    """A place's own word falls silent, whatever else a version does: by its own values steel stays as it is,
    and copper moves."""
    after = by_limit("6.35 mm", heavy_steel_thickness="6.35 mm")
    after["cautions"]["sharp"]["when"] = [{"thickness": {"below": "heavy_steel_thickness"}}]
    after["rules"][0]["grade"] = "screws"
    for each in (before := copy.deepcopy(HEAVY), after):
        each["examples"] = []
    found = changed(before, after)
    assert {move.before.grade for move in found.moves} == {"copper-residue"}
    assert found.summary[0] == (
        "Some parts change their grade. Where a place has its own value of heavy steel thickness, parts can "
        "be graded otherwise that are not elsewhere."
    )
    [told] = [line for line in found.summary[1:] if "own value" in line]
    where = "Where a place has its own value of heavy steel thickness, parts move that do not elsewhere: "
    assert told.startswith(where)
    assert sorted(told.removeprefix(where).rstrip(".").split("; ")) == [
        "was Heavy steel, is now Light iron",
        "was Light iron, is now Heavy steel",
    ]
    wire = ComparisonOut.of(found, read(before), read(after))
    [place] = wire.places
    assert (place.limits, place.all_moves) == (["heavy_steel_thickness"], True)
    assert sorted((each.before.grade, each.after.grade) for each in place.moves) == [
        ("light-iron", "steel-heavy"),
        ("steel-heavy", "light-iron"),
    ]


def by_hand(line: str) -> Document:
    """The small rulebook, by which steel is heavy that no hand bends, and that is what is as thick as a
    limit."""
    source = by_limit("heavy_steel_thickness", heavy_steel_thickness=line)
    bends = {
        "kind": "yes_no",
        "asks": "Does it bend by hand?",
        "test": "bend it",
        "minutes": 0,
        "beware": "No.",
    }
    source["attributes"]["bends"] = bends
    for rule, bent in zip(source["rules"][2:4], (False, True), strict=True):
        rule["when"] = {"metal": "steel", "bends": bent}
    source["impossible"] += [
        {
            "id": f"bends-{end}".replace("_", "-"),
            "when": {"bends": bent, "thickness": {end: "heavy_steel_thickness"}},
            **ENTRY,
        }
        for bent, end in ((True, "at_least"), (False, "below"))
    ]
    source["examples"] = []
    return source


def test_what_moves_as_it_is_told_is_told_though_no_whole_part_does() -> None:
    """Of steel 5.5 mm thick the hand says nothing by the one version that it can say by the other: whole
    parts go to a contradiction and come from one. Who tells the thickness alone gets another grade, and reads
    so."""
    before, after = by_hand("6.35 mm"), by_hand("5 mm")
    part = {"metal": "steel", "thickness": "5.5 mm"}
    books = [read(each) for each in (before, after)]
    graded = [Grader(book).grade(read_observations(book.attributes, part)) for book in books]
    assert [getattr(each, "grade", None) for each in graded] == ["light-iron", "steel-heavy"]
    found = changed(before, after)
    move, *others = found.moves
    assert ((move.before.grade, move.after.grade), move.all_ways) == (("light-iron", "steel-heavy"), False)
    [way] = move.ways
    assert (way.rule_before, way.rule_after) == (before["rules"][3]["id"], before["rules"][2]["id"])
    assert set(way.part) == {"metal", "thickness"}
    assert way.says == (
        "Metal steel, thickness at least 5 mm and below 6.35 mm: was Light iron, is now Heavy steel."
    )
    assert found.summary[2] == way.says
    assert {(each.before.answered, each.after.answered) for each in others} == {
        ("grade", "contradiction"),
        ("contradiction", "grade"),
    }


def test_a_limit_is_told_where_other_parts_move_between_the_same_grades_too() -> None:
    """A value that is not the limit's: what lies between the two moves anyway, and where a place begins heavy
    steel at 8 mm what lies between that and the limit too."""
    after = by_limit("5 mm", heavy_steel_thickness="6.35 mm")
    after["cautions"]["sharp"]["when"] = [{"thickness": {"below": "heavy_steel_thickness"}}]
    for each in (before := copy.deepcopy(HEAVY), after):
        each["examples"] = []
    found = changed(before, after)
    assert [(move.before.grade, move.after.grade) for move in found.moves] == [("light-iron", "steel-heavy")]
    [place] = ComparisonOut.of(found, read(before), read(after)).places
    assert {(each.before.grade, each.after.grade) for each in place.moves} == {
        ("light-iron", "steel-heavy"),
        ("steel-heavy", "light-iron"),
    }


def test_rules_that_part_only_where_a_place_draws_its_own_line_are_no_wording() -> None:
    """A rule that takes nothing by the rulebook's limit takes something where the limit is another one; one
    that takes nothing wherever it is does not, and neither do rules that change places for nothing."""
    wakes, sleeps, turned = (copy.deepcopy(HEAVY) for _ in range(3))
    heavy = wakes["rules"][2]
    wakes["rules"].insert(
        3, {**heavy, "id": "x", "when": {"metal": "steel", "thickness": {"at_least": "6.35 mm"}}}
    )
    never = {"metal": "steel", "thickness": {"at_least": "heavy_steel_thickness", "below": "1 m"}}
    sleeps["rules"].insert(3, {**heavy, "id": "x", "grade": "light-iron", "when": never})
    turned["rules"][2:] = reversed(turned["rules"][2:])
    found = changed(HEAVY, wakes)
    assert (found.kind, found.summary[0]) == ("changes", f"{OWN} heavy steel thickness, {OTHERWISE}")
    assert changed(HEAVY, sleeps).kind == "wording"
    assert changed(HEAVY, turned).kind == "wording"


def test_what_is_only_added_may_be_taken_from_others_where_a_place_draws_its_own_line() -> None:
    """Thin steel gets a grade: by the rulebook's limit no other steel does, by a lower one some."""
    before, after = copy.deepcopy(HEAVY), copy.deepcopy(HEAVY)
    thin = before["rules"].pop()
    before["examples"] = after["examples"] = []
    after["rules"][3:] = [{**thin, "when": {"metal": "steel"}}]
    assert changed(before, after).kind == "adds"
    after["rules"] = [
        *after["rules"][:2],
        {**after["rules"][3], "when": {"metal": "steel", "thickness": {"below": "6.35 mm"}}},
        after["rules"][2],
    ]
    found = changed(before, after)
    assert found.kind == "changes"
    assert found.summary[0] == (
        "No part that has a grade changes it by the versions' own limits, but where a place has its own "
        f"value of heavy steel thickness, {OTHERWISE}"
    )
