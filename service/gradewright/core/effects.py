"""The parts of a difference between what was expected and what was paid."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields
from operator import add, attrgetter


@dataclass(frozen=True, slots=True)
class Effects:
    """Parts of a difference, in minor units."""

    weight: int = 0
    deductions: int = 0
    grade: int = 0
    price: int = 0
    grade_or_price: int = 0
    missing: int = 0
    unexpected: int = 0
    unpriced: int = 0
    rounding: int = 0
    arithmetic: int = 0

    @property
    def total(self) -> int:
        """All of them together."""
        return sum(_amounts(self))

    def named(self) -> dict[str, int]:
        """Each by its name."""
        return dict(zip(PARTS, _amounts(self), strict=True))

    def __add__(self, other: Effects) -> Effects:
        return Effects(*map(add, _amounts(self), _amounts(other)))


PARTS = tuple(each.name for each in fields(Effects))
_amounts: Callable[[Effects], tuple[int, ...]] = attrgetter(*PARTS)
