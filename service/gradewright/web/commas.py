"""Decimal commas: where cells are not parted by commas, spreadsheets of much of the world write amounts so.

`3,96` cannot be anything but 3.96: thousands have three digits behind each comma. `1,250` can be either, and
is only read where the same file shows which it is. So can `1.250` in a file that has decimal commas: it is
refused.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

_WITH_COMMA = re.compile(r"([-+]?)(\d+),(\d+)(?![\d.,])")
_WITH_POINT = re.compile(r"[-+]?[\d,]*\.\d")
_THOUSANDS = re.compile(r"[-+]?([1-9]\d{0,2}(?:\.\d{3})+)(,\d+)?(?![\d.,])")
BEHIND = 3  # digits behind a comma that can part thousands


@dataclass(frozen=True, slots=True)
class Commas:
    """How a file writes its amounts: surely some with decimal commas, and with these alone."""

    some: bool
    alone: bool

    @classmethod
    def of(cls, cells: Iterable[str]) -> Commas:
        """As the cells of a file show it."""
        cells = list(cells)
        some = any(map(_surely, cells))
        points = (cell for cell in cells if _WITH_POINT.match(cell) and not _THOUSANDS.match(cell))
        return cls(some, some and next(points, None) is None)

    def with_point(self, cell: str) -> str:
        """The amount that a cell begins with, with a point for its decimal comma. What could be thousands
        stays as it is, and is left to whoever reads it to refuse.
        """
        found = _WITH_COMMA.match(cell)
        if found is None or not (self.alone or _surely(cell)):
            return cell
        sign, whole, behind = found.groups()
        return f"{sign}{whole}.{behind}{cell[found.end() :]}"

    def doubt(self, cell: str) -> str | None:
        """What is said of an amount whose point may part thousands, beside others with decimal commas."""
        found = _THOUSANDS.match(cell) if self.some else None
        if found is None:
            return None
        amount, behind = found[1], found[2] or ""
        meant = amount.replace(".", "") + behind.replace(",", ".")
        # With one point and nothing behind it may be a decimal point as well.
        other = f", or {amount.replace('.', ',')}" if amount.count(".") == 1 and not behind else ""
        return (
            f"{found[0]!r} may be thousands, as other amounts in this file have decimal commas: write {meant}"
            f"{other}"
        )


def _surely(cell: str) -> bool:
    """Whether a cell begins with an amount whose comma cannot part thousands."""
    found = _WITH_COMMA.match(cell)
    if found is None:
        return False
    _, whole, behind = found.groups()
    return len(behind) != BEHIND or len(whole) > BEHIND or whole.startswith("0")
