"""What a proof has found, as lines for a terminal: faults, and pairs of rules whose order decides."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any, Protocol

from gradewright.rulebooks.named import as_yaml

if TYPE_CHECKING:
    from gradewright.rulebooks.proof import Finding

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


def finding_lines(finding: Finding) -> list[str]:
    """A finding as lines: what is wrong, the part that shows it ready to be pasted, and what is like it."""
    lines = [finding.says]
    if finding.part is not None:
        lines.append(f"  - part: {as_yaml(finding.part)}")
    if finding.kind == "no-answer" and finding.part is not None:
        lines.append("    ungraded: true")
    lines += [f"    The same for {name}: {values}." for name, values in (finding.ranges or {}).items()]
    return lines
