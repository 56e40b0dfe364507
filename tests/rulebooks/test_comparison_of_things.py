"""What is told of some things only, of the version that has most of it: each entry is shown, and rightly."""

from __future__ import annotations

from tests.rulebooks.test_comparison_told import shipped

from gradewright.core.grading import Contradiction, Graded, Grader
from gradewright.core.observations import read_observations
from gradewright.rulebooks.comparer import Comparer
from gradewright.rulebooks.comparison_told import told_otherwise
from gradewright.rulebooks.document import read


def test_each_new_entry_of_2027_4_is_shown_by_a_description_that_had_a_grade() -> None:
    """By the grader of 2027.3 it has that grade; by that of 2027.4 it contradicts itself, by the entry, and
    not any more without what is told of such things only."""
    old, new = read(shipped("2027.3")), read(shipped("2027.4"))
    before, after = Grader(old), Grader(new)
    found = list(told_otherwise(Comparer(old, new, {}), lambda *_: None, 0))
    assert [each.entry for each in found] == [entry.id for entry in new.told_of]
    for each, entry in zip(found, new.told_of, strict=True):
        [move] = each.moves
        [way] = move.ways
        part = read_observations(new.attributes, way.part)
        had, has = before.grade(part), after.grade(part)
        assert isinstance(had, Graded), way
        assert had.grade == move.before.grade
        assert isinstance(has, Contradiction), way
        assert entry.id in {one.id for one in has.impossible}
        fewer = {name: value for name, value in part.items() if name not in entry.attributes}
        left = after.grade(fewer)
        named = {one.id for one in left.impossible} if isinstance(left, Contradiction) else set()
        assert entry.id not in named
