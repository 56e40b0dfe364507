"""What can be told of some things only: as documents say it, and as they are checked and compared by it."""

from __future__ import annotations

from typing import Any

import pytest
from tests.samples import document

from gradewright.core.errors import Fault, RulebookError
from gradewright.core.grading import Grader
from gradewright.core.routes import prepared
from gradewright.core.rulebook import Condition, ToldOf
from gradewright.rulebooks.check import check, wrong_examples
from gradewright.rulebooks.comparison import compare
from gradewright.rulebooks.document import read
from gradewright.rulebooks.proof import prove

SCREWS: dict[str, Any] = {
    "id": "screws-in-steel",
    "attributes": ["steel_screws"],
    "of": [{"metal": "copper"}],
    "because": "Steel with a screw in it is steel.",
    "source": "-",
}
IN_STEEL = {"metal": "steel", "steel_screws": True}


def made(*entries: dict[str, Any]) -> dict[str, Any]:
    """The small document, in which so many things are told of some things only."""
    return {**document(), "told_of": list(entries)} if entries else document()


def of_rules(source: dict[str, Any]) -> list[Fault]:
    """What the check says of the rules of a document."""
    return [fault for fault in check(read(source)) if fault.at[0] == "rules"]


def test_it_is_read_and_kept_in_the_document_only_where_it_is_said() -> None:
    """Attributes, things, reason and source; a document that says nothing of it has none."""
    assert read(made()).told_of == ()
    [entry] = read(made(SCREWS)).told_of
    of = ((Condition("metal", ("copper",)),),)
    assert entry == ToldOf(
        "screws-in-steel", ("steel_screws",), of, "Steel with a screw in it is steel.", "-"
    )


def test_an_example_may_tell_what_cannot_be_told_of_it() -> None:
    """A worked example names the entry as what contradicts it, and one that narrows by it holds."""
    source = made(SCREWS)
    source["examples"] += [
        {"part": IN_STEEL, "contradiction": "screws-in-steel"},
        {"part": {"steel_screws": True}, "grade": "copper-residue"},
    ]
    assert not wrong_examples(Grader(read(source)))
    source["examples"].append({"part": IN_STEEL, "grade": "steel-heavy"})
    assert len(wrong_examples(Grader(read(source)))) == 1


@pytest.mark.parametrize(
    ("entries", "at"),
    [
        ([{**SCREWS, "attributes": []}], ("told_of", 0, "attributes")),
        ([{**SCREWS, "attributes": ["steel_screw"]}], ("told_of", 0, "attributes")),
        ([{**SCREWS, "of": []}], ("told_of", 0, "of")),
        ([{**SCREWS, "of": [{}]}], ("told_of", 0, "of", 0)),
        ([{**SCREWS, "of": [{"metal": "copperr"}]}], ("told_of", 0, "of", 0, "metal")),
        ([{**SCREWS, "of": [{"thickness": {"below": "1 mm"}}]}], ("told_of", 0, "of", 0, "thickness")),
        ([{**SCREWS, "of": [{"thickness": "1 mm"}]}], ("told_of", 0, "of", 0, "thickness")),
        ([{**SCREWS, "of": [{"steel_screws": True}]}], ("told_of", 0, "of", 0, "steel_screws")),
        ([SCREWS, SCREWS], ("told_of", 0)),
        ([{**SCREWS, "id": "magnetic-copper"}], ("told_of", 0)),
        ([{**SCREWS, "only": []}], ("told_of", 0, "only")),
    ],
)
def test_an_entry_that_says_nothing_is_told_at_its_place(
    entries: list[dict[str, Any]], at: tuple[str | int, ...]
) -> None:
    """No attribute, or thing, unknown ones, a measure, itself, a name twice, a key too many."""
    with pytest.raises(RulebookError) as refusal:
        read(made(*entries))
    assert at in [fault.at for fault in refusal.value.faults]


def test_a_rule_about_other_things_too_is_a_fault() -> None:
    """A rule that asks for it and not for its things is told with the entry; one that implies them is not."""
    assert of_rules(made(SCREWS)) == []
    not_magnetic = {**SCREWS, "of": [{"sticks_to_magnet": False}]}
    assert of_rules(made(not_magnetic)) == []  # copper never sticks to a magnet
    source = made(not_magnetic)
    source["impossible"][0]["when"] = {"metal": "copper", "sticks_to_magnet": True, "thickness": "1 mm"}
    [first, second] = of_rules(source)
    assert (first.at, second.at) == (("rules", 0, "when"), ("rules", 1, "when"))
    assert "copper-with-screws: steel_screws" in first.detail
    assert "screws-in-steel" in first.detail


def test_a_rule_that_asks_for_what_cannot_be_told_never_decides() -> None:
    """Of no part both can be told: the check tells which entry rules it out."""
    source = made(SCREWS)
    rule = source["rules"][0]
    source["rules"].insert(0, {**rule, "id": "screws-in-it", "when": IN_STEEL})
    told, _ = of_rules(source)
    assert "screws-in-it: no part can meet it" in told.detail
    assert "screws-in-steel" in told.detail


def test_a_caution_about_what_cannot_be_told_never_holds() -> None:
    """The proof tells a condition that no part can have of which that is told."""
    source = made(SCREWS)
    source["cautions"]["sharp"]["when"].append(IN_STEEL)
    before, after = ({f.at for f in prove(read(each)).findings} for each in (made(SCREWS), source))
    [at] = after - before
    assert at[:3] == ("cautions", "sharp", "when")


def held(*entries: dict[str, Any]) -> dict[tuple[str | int, ...], str]:
    """What a proof finds of the entries themselves, where magnetic copper cannot be."""
    found = [each for each in prove(read(made(*entries))).findings if each.at[0] == "told_of"]
    assert {each.kind for each in found} <= {"never-holds"}
    return {tuple(each.at): each.says for each in found}


def test_what_is_told_of_nothing_that_can_be_is_a_fault() -> None:
    """An entry of whose things none can be, or not all, is told at the thing; whoever told what is told of it
    alone would contradict himself."""
    never, steel = {"metal": "copper", "sticks_to_magnet": True}, {"metal": "steel"}
    says = "told_of screws-in-steel, of (1): no part can have sticks_to_magnet yes and meet the rest."
    for things in ([never], [never, steel]):
        assert held({**SCREWS, "of": things}) == {("told_of", 0, "of", 0, "sticks_to_magnet"): says}
    magnetic = {"metal": ["copper", "steel"], "sticks_to_magnet": True}
    assert held({**SCREWS, "of": [magnetic]}) == {
        ("told_of", 0, "of", 0, "metal"): (
            "told_of screws-in-steel, of (1): no part can have metal: copper and meet the rest."
        )
    }
    assert not prove(read(made({**SCREWS, "of": [never]}))).sound


def test_what_two_entries_have_told_of_different_things_is_a_fault() -> None:
    """By each alone there is something of which it can be told, by both there is nothing."""
    other = {**SCREWS, "id": "screws-elsewhere", "of": [{"metal": "steel"}]}
    dirt = {**other, "attributes": ["foreign_share", "steel_screws"]}
    assert held(SCREWS, dirt) == {
        ("told_of", 0, "attributes", 0): (
            "told_of screws-in-steel: steel_screws can be told of no part: by told_of screws-elsewhere of "
            "other things only."
        ),
        ("told_of", 1, "attributes", 1): (
            "told_of screws-elsewhere: steel_screws can be told of no part: by told_of screws-in-steel of "
            "other things only."
        ),
    }


def test_work_leaves_out_what_cannot_be_told_any_more() -> None:
    """What work makes of a part is told without what was told of it before alone."""
    source = made(SCREWS)
    source["preparations"]["back-out-screws"]["changes"] = {"metal": "steel"}
    grader = Grader(read(source))
    work = grader.rulebook.preparations["back-out-screws"]
    before = {"metal": "copper", "steel_screws": True, "sticks_to_magnet": False}
    assert prepared(grader, before, work) == {"metal": "steel", "sticks_to_magnet": False}
    assert grader.still_told(before) is before


@pytest.mark.parametrize("is_new", [True, False])
def test_a_comparison_tells_what_is_told_of_some_things_only(is_new: bool) -> None:
    """In one sentence, with the things, and one description: what was told of others is a contradiction."""
    versions = (made(), made(SCREWS)) if is_new else (made(SCREWS), made())
    old, new = ((read(each), each) for each in versions)
    found = compare(old, new)
    assert found.kind == ("changes" if is_new else "adds")
    [way] = [way for move in found.moves for way in move.ways]
    assert way.by == "screws-in-steel"
    says = "to be told only" if is_new else "not only to be told"
    more = "" if is_new else " any more"
    assert found.summary[1:] == [f"Steel screws: {says} where metal is copper{more}. For example: {way.says}"]
    assert [each.section for each in found.differences.besides] == ["told_of"]
