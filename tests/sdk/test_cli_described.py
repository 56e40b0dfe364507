"""Descriptions of parts on the command line: in words, and as an example of a rulebook has them."""

from __future__ import annotations

from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st
from tests.sdk.conftest import Run
from tests.sdk.test_cli_compare import COMPARE, COMPARISON, compared

from gradewright_sdk.cli._described import as_example, in_words
from gradewright_sdk.testing import FakeGradewright

PART = {"metal": "steel", "thickness": "6.34 mm", "steel_screws": False, "made_year": 1998}
TEXT = st.text(st.characters(max_codepoint=0xFFFF, exclude_categories=["Cs"]), max_size=12)
VALUES = st.one_of(
    st.booleans(),
    st.integers(-9999, 9999),
    TEXT,
    st.sampled_from(
        ["yes", "no", "null", "~", "1998", "1e3", "0x1f", "2026-05-04", "6.35 mm", "1/8 in", "12:30"]
    ),
    st.sampled_from(
        ["a: b", "a #b", "- a", "{a", "5 %", "8.9 g/cm3", "motors-copper", "", " a", "true", "y", "off"]
    ),
)


@given(st.dictionaries(st.from_regex(r"[a-z_]{1,12}", fullmatch=True), VALUES, max_size=4))
def test_an_example_can_be_pasted(part: dict[str, Any]) -> None:
    """Whatever a part is described by, a YAML document with that line in it has the same description."""
    assert yaml.safe_load(f"- part: {as_example(part)}\n") == [{"part": part}]


def test_no_signs_stand_where_none_are_needed() -> None:
    """Slugs, measures, numbers and yes or no are told as they are written by hand."""
    words = "metal: steel, thickness: 6.34 mm, steel_screws: false, made_year: 1998"
    assert as_example(PART) == f"{{{words}}}"
    assert in_words(PART) == words


@pytest.mark.parametrize(
    "way", [{"part": PART}, {"part": PART, "rule_before": "thin", "rule_after": "thick"}]
)
def test_a_comparison_tells_parts_in_words(fake: FakeGradewright, run: Run, way: dict[str, Any]) -> None:
    """The smallest part of each move, and of each worked example, has no brackets and no quotes."""
    ends = {"before": {"answered": "no-grade"}, "after": {"answered": "grade", "name": "Light iron"}}
    example = {"part": PART, "before": None, "after": {"grade": "light-iron"}}
    told = compared(kind="changes", moves=[{**ends, "ways": [way], "all_ways": True}], examples=[example])
    fake.answer("GET", COMPARISON, told)
    shown = run(*COMPARE).stdout
    rules = f"{way.get('rule_before', 'no rule')}, then {way.get('rule_after', 'no rule')}"
    assert f"\n  {in_words(PART)}  by {rules}\n" in shown
    assert f"\n  {in_words(PART)}: no example -> light-iron\n" in shown
    assert '"' not in shown
    assert "{" not in shown
