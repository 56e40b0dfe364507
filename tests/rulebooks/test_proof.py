"""The proof of a version: what it finds, and that this can be pasted into the document and holds there."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from tests.samples import document

from gradewright.core.grading import Grader, Ungraded
from gradewright.core.house_limits import HouseLimit
from gradewright.rulebooks import proof as proving
from gradewright.rulebooks.document import read
from gradewright.rulebooks.proof import Finding, Proof, prove

RULE = {"because": "x", "source": "made for tests", "confidence": "published"}


def small(**changes: Any) -> dict[str, Any]:
    """The small rulebook, whose second copper grade is sold by its name."""
    source = document(**changes)
    source["grades"]["copper-no2"]["by_name_only"] = True
    return source


def rule(rule_id: str, grade: str, when: dict[str, Any]) -> dict[str, Any]:
    return {"id": rule_id, "grade": grade, "when": when, **RULE}


def entry(entry_id: str, when: dict[str, Any]) -> dict[str, Any]:
    return {"id": entry_id, "when": when, "because": "x", "source": "x"}


def of(proof: Proof, kind: str) -> list[Finding]:
    return [finding for finding in proof.findings if finding.kind == kind]


def test_the_small_rulebook_is_sound() -> None:
    """Nothing is found where every part has its answer."""
    proof = prove(read(small()))
    assert (proof.findings, proof.sound, proof.complete) == ([], True, True)


def test_a_grade_that_no_part_gets_is_told_with_why() -> None:
    """A grade without a rule, and one of which no rule ever decides, are told; not so one that is sold by its
    name, nor one of which another rule decides.
    """
    source = small()
    grade = {"family": "copper", "describes": "x"}
    source["grades"] |= {slug: {**grade, "name": slug} for slug in ("forgotten", "hidden")}
    source["rules"] += [
        rule("too-late", "hidden", {"metal": "steel", "thickness": "1 mm"}),
        rule("late-too", "light-iron", {"metal": "steel", "thickness": "2 mm"}),
    ]
    forgotten, hidden = of(prove(read(source)), "never-reached")
    assert (forgotten.at, hidden.at) == (("grades", "forgotten"), ("grades", "hidden"))
    mark = "Add a rule, or mark it by_name_only."
    assert forgotten.says == f"grade forgotten: no part gets it: it has no rule. {mark}"
    assert hidden.says == f"grade hidden: no part gets it: none of its rules ever decides (too-late). {mark}"
    assert forgotten.fault
    assert hidden.fault


def test_work_that_leads_nowhere_is_told_with_a_part_that_it_is_for() -> None:
    """The smallest, in the rulebook's own words: of it is known that the work is done to it, and no more."""
    source = small()
    source["impossible"].append(entry("steel-screws-in-steel", {"metal": "steel", "steel_screws": True}))
    source["preparations"]["clean"] = {
        "name": "Screw it down",
        "when": {"metal": "steel", "thickness": {"at_least": "heavy_steel_thickness"}},
        "unless": [{"foreign_share": {"above": "5 %"}}],
        "changes": {"steel_screws": True},
        "minutes": "2",
        "per": "piece",
        "how": "A driver.",
    }
    (finding,) = of(prove(read(source)), "leads-nowhere")
    assert finding.at == ("preparations", "clean", "changes")
    assert set(finding.part or {}) == {"metal", "thickness", "foreign_share"}
    assert (finding.part or {})["metal"] == "steel"


@pytest.mark.parametrize("number", range(1, 7))
def test_the_entry_that_excludes_a_rule_is_named_among_many(number: int) -> None:
    """A rule that one of many impossible entries leaves no part is told with that entry and no other."""
    source = small()
    shares = {n: f"{n} %" for n in range(1, 7)}
    source["impossible"] += [
        entry(f"i{n}", {"metal": "steel", "foreign_share": s}) for n, s in shares.items()
    ]
    source["rules"].insert(0, rule("none", "copper-no1", {"metal": "steel", "foreign_share": shares[number]}))
    (finding,) = of(prove(read(source)), "never-decides")
    assert finding.says == f"rule none: no part can meet it: `impossible` has it: i{number}."
    assert finding.part == {"metal": "steel", "foreign_share": f"{number} %"}


def test_only_rules_that_hide_another_are_named() -> None:
    """Of the rules before one that never decides those are named that are needed to hide it, and no more."""
    source = small()
    source["rules"].append(rule("late", "light-iron", {"metal": "steel", "thickness": {"above": "7 mm"}}))
    (finding,) = of(prove(read(source)), "never-decides")
    assert "whatever meets it meets thick-steel before it" in finding.says


def test_what_is_told_as_the_same_is_the_same_with_the_rest_as_it_stands() -> None:
    """A value told beside one of the smallest description has no answer in its place, and can be there."""
    source = small()
    del source["rules"][0]
    book = read(source)
    grader = Grader(book)
    told = of(prove(book), "no-answer")
    assert told
    for finding in told:
        part = {name: book.attributes[name].read(value) for name, value in (finding.part or {}).items()}
        assert isinstance(grader.grade(part), Ungraded)
        for name, values in (finding.alike or {}).items():
            for value in values:
                other = {**part, name: book.attributes[name].read(value)}
                assert isinstance(grader.grade(other), Ungraded)


@pytest.mark.parametrize("without", [[0], [1], [2], [3], [0, 2], [1, 3]], ids=str)
def test_a_part_without_an_answer_can_be_pasted_as_an_example_and_is_gone(without: list[int]) -> None:
    """Each finding's part, pasted with `ungraded: true`, holds as an example; all pasted leave no finding."""
    source = small(examples=[])
    source["rules"] = [each for n, each in enumerate(source["rules"]) if n not in without]
    given = {each["grade"] for each in source["rules"]}
    for slug, grade in source["grades"].items():
        if slug not in given:
            grade["by_name_only"] = True
    pasted = 0
    while holes := of(prove(read(source)), "no-answer"):
        for hole in holes:
            source["examples"].append({"part": dict(hole.part or {}), "ungraded": True, "note": "pasted"})
        pasted += len(holes)
        assert pasted < 20, "what is pasted does not go away"
    assert pasted
    assert of(prove(read(source)), "wrong") == []


def test_an_example_that_no_grade_is_meant_stands_for_its_cell() -> None:
    """A measure in an `ungraded` example answers for all that no clause can tell from it, and no further."""
    source = small(examples=[])
    source["rules"][3]["when"]["thickness"] = {"above": "3 mm", "below": "heavy_steel_thickness"}
    source["examples"] = [{"part": {"metal": "steel", "thickness": "0.7 mm"}, "ungraded": True, "note": "x"}]
    told = of(prove(read(source)), "no-answer")
    assert told
    assert {(hole.part or {})["thickness"] for hole in told} == {"3 mm"}
    source["examples"].append(
        {"part": {"metal": "steel", "thickness": "3 mm"}, "ungraded": True, "note": "x"}
    )
    assert of(prove(read(source)), "no-answer") == []


@pytest.mark.parametrize(
    ("example", "says"),
    [
        ({"part": {"metal": "steel", "thickness": "1 mm"}, "grade": "steel-heavy"}, "light-iron is found"),
        ({"part": {"metal": "copper"}, "grade": "copper-no1"}, "undecided between"),
        ({"part": {"metal": "steel", "thickness": "1 mm"}, "ungraded": True}, "light-iron is found"),
        ({"part": {"metal": "copper"}, "contradiction": "magnetic-copper"}, "undecided between"),
    ],
)
def test_an_example_that_is_answered_otherwise_is_told(example: dict[str, Any], says: str) -> None:
    """Examples are tried as they stand; one that is wrong is told with what is found."""
    source = small(examples=[{**example, "note": "x"}])
    (finding,) = prove(read(source)).findings
    assert (finding.kind, finding.at, says in finding.says) == ("wrong", ("examples", 0), True)


def house(given: str, name: str = "heavy_steel_thickness") -> HouseLimit:
    return HouseLimit(name, given, "low-quay", "at Low Quay", date(2026, 5, 4))


def with_a_middle_grade() -> dict[str, Any]:
    """The small rulebook with a rule for steel that is between the heavy limit and 20 mm."""
    source = small(examples=[])
    middle = {"metal": "steel", "thickness": {"at_least": "heavy_steel_thickness", "below": "20 mm"}}
    source["rules"].insert(2, rule("middle-steel", "light-iron", middle))
    return source


def test_a_limit_of_a_place_that_leaves_a_rule_no_part_is_told_with_the_place() -> None:
    """What comes to nothing under a place's limits alone names the place and the limit, and is no fault."""
    proof = prove(read(with_a_middle_grade()), [[house("25 mm")]])
    assert {finding.kind for finding in proof.findings} == {"never-decides", "never-holds"}
    assert proof.sound
    for finding in proof.findings:
        assert finding.within == "at Low Quay"
        assert finding.says.startswith("At Low Quay (heavy_steel_thickness 25 mm), rule middle-steel: ")


@pytest.mark.parametrize("given", ["1/8 in", "6.35 mm", "19 mm"])
def test_a_harmless_limit_of_a_place_finds_nothing(given: str) -> None:
    """A place that draws the line elsewhere, or has a limit that the version lacks, is no fault."""
    proof = prove(read(with_a_middle_grade()), [[house(given)], [house("5 %", "no_such_limit")]])
    assert proof.sound


def holed() -> dict[str, Any]:
    """The small rulebook that forgot copper of which the screws are backed out, by kind of share."""
    source = small(examples=[])
    source["rules"][1]["when"]["foreign_share"] = {"below": "10 %"}
    return source


@pytest.mark.parametrize("given", ["1/8 in", "19 mm", "30 mm"])
def test_what_a_version_lacks_by_itself_is_not_told_again_of_a_place(given: str) -> None:
    """A harmless limit finds nothing of its own in a version that has parts without an answer."""
    book = read(holed())
    own = prove(book)
    assert not own.sound
    assert list(prove(book, [[house(given)]]).findings) == list(own.findings)


@pytest.mark.parametrize("given", ["5 mm", "6 mm"])
def test_a_place_that_narrows_what_is_lacking_has_nothing_of_its_own(given: str) -> None:
    """What has no answer under the version's limits is not told of a place that only draws its edge anew."""
    source = small(examples=[])
    source["rules"][3]["when"]["thickness"] = {"below": "3 mm"}
    book = read(source)
    own = prove(book)
    assert of(own, "no-answer")
    assert list(prove(book, [[house(given)]]).findings) == list(own.findings)


def test_a_hole_that_only_a_place_has_is_told_of_it() -> None:
    """A place's limit that opens a gap between rules is told, beside what the version lacks by itself."""
    source = holed()
    source["rules"][3]["when"]["thickness"] = {"below": "7 mm"}
    book = read(source)
    own, both = prove(book), prove(book, [[house("8 mm")]])
    (more,) = both.findings[len(own.findings) :]
    assert (more.kind, more.within, more.fault) == ("no-answer", "at Low Quay", True)
    assert more.says.endswith("have it changed there.")
    assert set(more.part or {}) == {"metal", "thickness"}


@pytest.mark.parametrize("places", [["8 mm", "6.35 mm"], ["6.35 mm", "8 mm"]])
def test_more_holes_in_any_one_place_than_are_told_leave_a_proof_incomplete(
    places: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where all is told of the version and of one place, and not of another one, not all is told."""
    source = small(examples=[])
    source["rules"][3]["when"]["thickness"] = {"below": "7 mm"}
    book, houses = read(source), [[house(given)] for given in places]
    proof = prove(book, houses)
    assert ([finding.kind for finding in proof.findings], proof.complete) == (["no-answer"], True)
    monkeypatch.setattr(proving, "MOST_HOLES", 0)
    assert prove(book).complete
    assert not prove(book, houses).complete


def test_a_warning_that_a_place_would_never_give_is_a_fault() -> None:
    """A version is not sound where a place's limit leaves the condition of a caution no part."""
    source = with_a_middle_grade()
    band = {"metal": "steel", "thickness": {"at_least": "heavy_steel_thickness", "below": "20 mm"}}
    source["cautions"]["sharp"]["when"] = [band]
    book = read(source)
    assert prove(book, [[house("19 mm")]]).sound
    proof = prove(book, [[house("25 mm")]])
    assert not proof.sound
    assert [finding.at[:2] for finding in proof.findings if finding.fault] == [("cautions", "sharp")]
