"""What is told in one with something else: of which a finding speaks, and whether it is all there is."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from tests.samples import document

from gradewright.core.house_limits import HouseLimit
from gradewright.rulebooks.comparison import moves
from gradewright.rulebooks.document import read
from gradewright.rulebooks.proof import prove

RULE = {"because": "x", "source": "made for tests", "confidence": "published"}


def rule(rule_id: str, grade: str, **when: Any) -> dict[str, Any]:
    return {"id": rule_id, "grade": grade, "when": when, **RULE}


def test_parts_that_only_a_place_leaves_without_an_answer_are_told_with_others_alike() -> None:
    """A version without a word for zinc between two measures, and a place where steel between them has none
    either: of the place both are told in one, though zinc alone is so anyway."""
    source = document()
    source["grades"]["copper-no2"]["by_name_only"] = True
    source["attributes"]["metal"]["choices"]["zinc"] = "grey, and no magnet holds"
    source["rules"][3]["when"]["thickness"] = {"below": "6.35 mm"}
    source["rules"] += [
        rule("zinc-thin", "light-iron", metal="zinc", thickness={"below": "6.35 mm"}),
        rule("zinc-thick", "steel-heavy", metal="zinc", thickness={"at_least": "8 mm"}),
    ]
    house = HouseLimit("heavy_steel_thickness", "8 mm", "low-quay", "at Low Quay", date(2026, 5, 4))
    [anyway, there] = prove(read(source), [[house]]).findings
    assert (anyway.within, (anyway.part or {})["metal"]) == (None, "zinc")
    assert (there.within, there.kind, there.fault) == ("at Low Quay", "no-answer", True)
    metals = {(there.part or {})["metal"], *(there.alike or {})["metal"]}
    assert metals == {"steel", "zinc"}


@pytest.mark.parametrize(("slices", "told", "all_ways"), [(6, 6, True), (7, 6, False), (9, 6, False)])
def test_a_move_says_whether_all_of_its_ways_are_told(slices: int, told: int, all_ways: bool) -> None:
    """Where more pairs of rules make one move than are told of it, it says so; of as many it says that it is
    all."""
    old = document(examples=[])
    ends = [*(f"0.{n} mm" for n in range(1, slices)), "heavy_steel_thickness"]
    old["rules"][3:] = [
        rule(f"thin-{n}", "light-iron", metal="steel", thickness={"below": end}) for n, end in enumerate(ends)
    ]
    new = document(examples=[])
    del new["grades"]["light-iron"]
    new["rules"][3]["grade"] = "steel-heavy"
    [found] = moves(read(old), read(new))
    assert (found.before.grade, found.after.grade) == ("light-iron", "steel-heavy")
    assert (len(found.ways), found.all_ways) == (told, all_ways)
