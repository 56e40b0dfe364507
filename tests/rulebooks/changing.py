"""The small rulebook with something changed in it, and what is told of that."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from tests.samples import document

from gradewright.core.errors import Fault, RulebookError
from gradewright.rulebooks.document import read

Change = Callable[[dict[str, Any]], Any]


def faults_of(source: dict[str, Any]) -> tuple[Fault, ...]:
    """The faults for which a document is refused."""
    with pytest.raises(RulebookError) as refusal:
        read(source)
    assert refusal.value.faults
    assert refusal.value.faults[0].detail in refusal.value.detail
    return refusal.value.faults


HELD = {
    "enough_yards": 3,
    "outlier": "3.5",
    "spread_floor": "2 %",
    "factor": "3",
    "agrees_within": "12 %",
    "contradicted_within": 7,
}


def changed(change: Change) -> dict[str, Any]:
    """The small rulebook with a change made to it."""
    source = document()
    change(source)
    return source


def at(*path: str | int, value: Any) -> Change:
    """A change that puts a value at a place."""

    def change(source: Any) -> None:
        for step in path[:-1]:
            source = source[step]
        source[path[-1]] = value

    return change


def without(*path: str | int) -> Change:
    """A change that takes out what is at a place."""

    def change(source: Any) -> None:
        for step in path[:-1]:
            source = source[step]
        del source[path[-1]]

    return change
