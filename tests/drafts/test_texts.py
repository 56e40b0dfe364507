"""Documents as files: what is written reads back the same, and what would harm is refused."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gradewright.core.errors import RulebookError
from gradewright.drafts.texts import as_written, from_json, from_yaml, made_from, to_yaml
from gradewright.rulebooks import shipped
from gradewright.rulebooks.source import from_file
from gradewright.web.body import check_json
from gradewright.web.problems import RequestRefused
from tests.samples import document

TRICKY = ["yes", "null", "~", "1.5", "010", "0x10", "12:30", "2026-01-01", "=", "<<", "1e5", "- a", "a: b",
          "# x", "'", '"', "\u2028", "\x85", "\ufeff", "a\nb", " a", "a ", "", "1_000",
          "!x", "&a", "*a"]  # fmt: skip
TEXT = st.text(max_size=12) | st.sampled_from(TRICKY)
VALUE = st.recursive(
    TEXT | st.booleans() | st.none() | st.integers(-(10**17), 10**17),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXT, inner, max_size=4),
    max_leaves=12,
)


@settings(max_examples=120, deadline=None)
@given(st.dictionaries(TEXT, VALUE, max_size=4))
def test_what_is_written_reads_back(made: dict[str, Any]) -> None:
    """Any document that can be kept is the same again after it was a file, in the same order."""
    try:
        check_json(json.dumps(made).encode())
    except RequestRefused:
        return
    assert json.dumps(from_yaml(to_yaml(made, "d-1", "1-abc"))) == json.dumps(made)


@pytest.mark.parametrize("path", shipped.files(), ids=lambda path: path.stem)
def test_the_versions_that_ship_read_back(path: Any) -> None:
    """So are the versions that ship."""
    made = from_file(path).document
    assert json.dumps(from_yaml(to_yaml(made, "d-1", "1-abc"))) == json.dumps(made)


WRITTEN = """# How to read it.
version: "1"  # the name
effective_from: 2027-01-01
summary: >-
  Two lines
  of words.

# What follows is in order.
grades: {a: {name: A}}
"""


def test_a_version_s_words_are_kept_but_for_its_own() -> None:
    """A draft from a file has another version, day and summary; all else stands as somebody wrote it."""
    own = {"version": "2", "effective_from": "2027-02-01", "summary": "It's new: #2."}
    made = from_yaml(WRITTEN) | own
    found = as_written(WRITTEN, made)
    assert found is not None
    assert from_yaml(found) == made
    assert found.splitlines() == [
        "# How to read it.",
        "version: '2'  # the name",
        "effective_from: '2027-02-01'",
        "summary: 'It''s new: #2.'",
        "",
        "# What follows is in order.",
        "grades: {a: {name: A}}",
    ]


def test_what_a_draft_has_no_more_is_left_out_of_the_text() -> None:
    """Of a version that is in force instead of others a draft names none: their lines go, all else stays."""
    text = WRITTEN.replace("summary", 'instead_of:\n  - "3"\n  - "4"  # never\nsummary', 1)
    made = {name: value for name, value in from_yaml(text).items() if name != "instead_of"}
    found = as_written(text, made)
    assert found is not None
    assert from_yaml(found) == made
    assert found.replace("  # never\n", "") == WRITTEN


@pytest.mark.parametrize("other", [{"grades": {"b": {"name": "B"}}}, {"title": "New"}, {"version": 2}])
def test_a_text_that_says_something_else_is_not_kept(other: dict[str, Any]) -> None:
    """Where more than the words of a top key differ, the text would not be the document's."""
    assert as_written(WRITTEN, from_yaml(WRITTEN) | other) is None
    assert as_written(None, from_yaml(WRITTEN)) is None


def test_the_first_line_names_the_step() -> None:
    """A file tells the draft and the step that it was made from; another text tells none."""
    text = to_yaml(document(), "d-12", "3-5e1f0c9a7b21")
    assert made_from(text) == ("d-12", "3-5e1f0c9a7b21")
    assert made_from(text.partition("\n")[2]) is None


def test_numbers_keep_their_digits() -> None:
    """A number with a point is kept as text, in JSON as in YAML: no float has anything to do with it."""
    assert from_json(b'{"minutes": 0.50, "share": [1.10]}') == {"minutes": "0.50", "share": ["1.10"]}
    assert from_yaml("minutes: 0.50\nshare: [1.10]") == {"minutes": "0.50", "share": ["1.10"]}


def test_a_short_text_does_not_become_a_huge_document() -> None:
    """What repeats itself by reference is refused before it is taken in, with its line; so is a deep one."""
    levels = [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" for n in range(1, 40)]
    bomb = "\n".join(["a0: &a0 [x, x]", *levels])
    with pytest.raises(RulebookError) as refused:
        from_yaml(bomb)
    assert [fault.line for fault in refused.value.faults] == [2]
    with pytest.raises(RulebookError, match="nested deeper than 64 levels"):
        from_yaml("a: " + "[" * 65 + "]" * 65)
    assert from_yaml("a: " + "[" * 63 + "]" * 63)


@pytest.mark.parametrize(
    "text", ['title: "\\0"', 'title: "\\ud800"', "version: 2\nversion: 3", "- a", "a: [", ""]
)
def test_what_cannot_be_kept_is_refused(text: str) -> None:
    """NUL, half a character, a name twice, no mapping, no YAML: refused, none of it an error of ours."""
    with pytest.raises((RulebookError, RequestRefused)):
        from_yaml(text)
