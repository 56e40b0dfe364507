"""Words about a limit that still tell the value that it had."""

from __future__ import annotations

from typing import Any

import pytest
from tests.api import small_rulebook

from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.document import read
from gradewright.rulebooks.stale_words import stale_words


def version(value: str, **words: str) -> Rulebook:
    """The small rulebook with heavy steel from another thickness on, and other words about it."""
    document: dict[str, Any] = small_rulebook(examples=[])
    document["limits"]["heavy_steel_thickness"].update(value=value, **words)
    return read(document)


@pytest.mark.parametrize(
    ("means", "told"),
    [
        ("At least this thick (1/4 in).", ["1/4 in"]),
        ("At least this thick, 0.25 in or 6.35 mm.", ["0.25 in", "6.35 mm"]),
        ("At least this thick: 6.4 mm, and at most 100 lb.", ["6.4 mm"]),
        ("At least 7 mm thick, which many round to 9/32 in; 5 mm is thin.", []),
        ("At least this thick.", []),
    ],
)
def test_the_value_before_is_found_in_the_words(means: str, told: list[str]) -> None:
    """In any unit and rounded, but no other measure and not the value now."""
    found = list(stale_words(version("6.35 mm"), version("7 mm", means=means, source="-")))
    assert [note.split("still says ")[1].split(": write")[0] for note in found] == told


def test_a_limit_that_stays_may_say_what_it_says() -> None:
    """Only what has changed is looked at, the source as well; the note has both values."""
    same = version("6.35 mm", means="(1/4 in)", source="1/4 inch")
    assert not list(stale_words(same, same))
    [note] = stale_words(same, version("7 mm", means="-", source="some rule: 1/4 in"))
    assert note.startswith(
        "The limit heavy_steel_thickness is 7 mm here and 6.35 mm in 2020.1, "
        "and its `source` still says 1/4 in"
    )
