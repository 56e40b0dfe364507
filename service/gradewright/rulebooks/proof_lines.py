"""Pairs of rules whose order decides, as lines for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping
from typing import Any, Protocol

from gradewright.rulebooks.named import as_yaml

WIDTH = 80


class Decided(Protocol):
    """Two rules of different grades, of which the first decides, and a part that meets both."""

    @property
    def first(self) -> str: ...

    @property
    def second(self) -> str: ...

    @property
    def first_grade(self) -> str: ...

    @property
    def second_grade(self) -> str: ...

    @property
    def part(self) -> Mapping[str, Any]: ...


def pair_lines(pairs: Iterable[Decided]) -> list[str]:
    """Pairs of rules whose order decides between two grades, each with a part that meets both."""
    lines = []
    for each in pairs:
        decides = f"{each.first} ({each.first_grade}) decides before {each.second} ({each.second_grade}):"
        for text, indent in ((decides, ""), (as_yaml(each.part), "  ")):
            lines += textwrap.wrap(
                text,
                WIDTH,
                initial_indent=indent,
                subsequent_indent="    ",
                break_long_words=False,
                break_on_hyphens=False,
            )
    return lines
