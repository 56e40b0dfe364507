"""What a verification finds, and what it is held against."""

from __future__ import annotations

from dataclasses import dataclass, field

from gradewright.ledger.difference import Difference

MOST_KEPT = 10_000  # differences: more are counted, not told


@dataclass(slots=True)
class Witness:
    """Somebody who remembers a root: a checkpoint, a kept valuation."""

    of: str
    name: str
    size: int
    root: bytes


@dataclass(slots=True)
class Report:
    """What was found."""

    entries: int = 0
    revisions: int = 0
    root: bytes = b""
    witnesses: int = 0
    answers: int = 0  # that were kept, held against their SHA-256
    untold: int = 0
    differences: list[Difference] = field(default_factory=list)

    @property
    def sound(self) -> bool:
        """Whether everything agrees."""
        return not self.differences

    def say(self, found: Difference) -> None:
        """Adds a difference; beyond many, they are counted."""
        if len(self.differences) < MOST_KEPT:
            self.differences.append(found)
        else:
            self.untold += 1
