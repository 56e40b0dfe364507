"""What is told together hides nothing that is told well on its own, and has its sentence in the summary."""

from __future__ import annotations

import pytest
from tests.rulebooks.test_comparison_class import ENTRY, SIDES, Document, bare, in_order, told_of
from tests.rulebooks.test_comparison_told import changed

from gradewright.rulebooks import comparison_together
from gradewright.rulebooks.comparing_cli import _tell
from gradewright.rulebooks.comparison import Comparison
from gradewright.rulebooks.comparison_schemas import ComparisonOut
from gradewright.rulebooks.comparison_together import summed_up
from gradewright.rulebooks.document import read
from gradewright.rulebooks.moved_schemas import EndOut, MoveOut, TogetherOut, WayOut
from gradewright.rulebooks.named import as_yaml


def answered(before: Document, after: Document) -> tuple[Comparison, ComparisonOut]:
    """What is found between two documents, and the answer."""
    found = changed(before, after)
    return found, ComparisonOut.of(found, read(before), read(after))


def test_what_an_order_moves_is_told_in_the_sentence_that_the_summary_has_of_it() -> None:
    """Four grades have parts out of it: one group, with the order's own sentence and a part out of order."""
    found, answer = answered(in_order(), in_order(*SIDES))
    [group] = answer.together
    assert group.moves == list(range(len(found.moves)))
    assert len(group.moves) >= 4
    assert answer.summary == list(found.summary)
    assert group.says in answer.summary
    assert group.says.startswith("Of width, depth, thickness none is more than the one before it: ")
    ways = [way for move in found.moves for way in move.ways]
    assert {way.by for way in ways} == {"sides"}
    assert group.part == min((dict(way.part) for way in ways), key=len)


def test_moves_beside_an_order_keep_their_own_sentences() -> None:
    """A part that cannot be any more by its own description is told apart, however many an order moves."""
    before, after = in_order(), in_order(*SIDES)
    for each in (before, after):
        dirty = {"metal": "copper", "foreign_share": {"above": "5 %"}}
        each["rules"].insert(0, {**each["rules"][0], "id": "dirty", "grade": "copper-no2", "when": dirty})
    thick = {"metal": "copper", "thickness": {"above": "90 mm"}, "steel_screws": True}
    clean = {"foreign_share": {"at_most": "5 %"}}
    after["impossible"].append({"id": "thick-copper", "when": {**thick, **clean}, **ENTRY})
    found, answer = answered(before, after)
    own = [(n, way) for n, move in enumerate(found.moves) for way in move.ways if way.by is None]
    [(place, way)] = own
    assert found.moves[place].before.grade == "copper-residue"
    assert way.says in answer.summary
    [group] = answer.together
    assert place not in group.moves
    assert len(group.moves) == len(found.moves) - 1
    assert "sides" in [each.by for each in found.moves[place].ways]  # it is moved by the order as well


def test_what_is_told_of_some_things_only_is_told_once(capsys: pytest.CaptureFixture[str]) -> None:
    """For people, by the sentence of its entry alone; for scripts it is a move, with the entry."""
    found, answer = answered(bare(), told_of({"metal": "copper"}))
    [move] = answer.moves
    [way] = move.ways
    assert (way.by, answer.together) == ("dirt", [])
    _tell(found, answer, texts=False)
    out = capsys.readouterr().out
    assert out.count(way.says) == 1
    assert as_yaml(way.part) not in out
    after = told_of({"metal": "copper"})
    after["impossible"].append({"id": "no-steel", "when": {"metal": "steel"}, **ENTRY})
    _, both = answered(bare(), after)
    moved = [each for each in both.moves if any(one.by is None for one in each.ways)]
    assert {each.before.grade for each in moved} == {"steel-heavy", "light-iron"}


def test_of_many_moves_so_many_are_read_and_the_rest_is_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    """Those that one sentence tells together count as that one; other sentences are all there."""
    monkeypatch.setattr(comparison_together, "MOST_SENTENCES", 2)

    def move(says: str) -> MoveOut:
        end = EndOut(answered="grade", grade="tin", name="Tin")
        way = WayOut(rule_before="a", rule_after="b", part={}, ranges={}, says=says, by=None)
        return MoveOut(before=end, after=end, ways=[way], all_ways=True)

    moves = [move(f"{name}.") for name in "abcdef"]
    summary = ["Some parts change.", "a.", "b.", "c.", "d.", "e.", "f.", "New grade: Tin."]
    assert summed_up(summary, moves, []) == [*summary[:3], "And 4 more moves.", summary[-1]]
    told = [TogetherOut(says="Four.", part={}, moves=[1, 2, 3, 4])]
    one_more = "And one more move."
    assert summed_up(summary, moves, told) == ["Some parts change.", "a.", "Four.", one_more, summary[-1]]
    assert summed_up(summary[:2] + summary[-1:], moves[:1], []) == [
        "Some parts change.",
        "a.",
        "New grade: Tin.",
    ]
