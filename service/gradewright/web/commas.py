"""Decimal commas: where cells are not parted by commas, spreadsheets of much of the world write amounts so.

`3,96` cannot be anything but 3.96: thousands have three digits behind each comma. `1,250` can be either, and
is only read where the same file shows which it is.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

_WITH_COMMA = re.compile(r"([-+]?)(\d+),(\d+)(?![\d.,])")
_WITH_POINT = re.compile(r"[-+]?[\d,]*\.\d")
THOUSANDS = 3  # digits behind a comma that can part thousands


def decimal_commas(cells: Iterable[str]) -> bool:
    """Whether amounts in these cells are written with decimal commas: some surely, and none with a point."""
    cells = list(cells)
    return any(map(_surely, cells)) and not any(map(_WITH_POINT.match, cells))


def with_point(cell: str, *, known: bool) -> str:
    """The amount that a cell begins with, with a point for its decimal comma; `known`: all of the file are.

    What could be thousands stays as it is, and is left to whoever reads it to refuse.
    """
    found = _WITH_COMMA.match(cell)
    if found is None or not (known or _surely(cell)):
        return cell
    sign, whole, behind = found.groups()
    return f"{sign}{whole}.{behind}{cell[found.end() :]}"


def _surely(cell: str) -> bool:
    """Whether a cell begins with an amount whose comma cannot part thousands."""
    found = _WITH_COMMA.match(cell)
    if found is None:
        return False
    _, whole, behind = found.groups()
    return len(behind) != THOUSANDS or len(whole) > THOUSANDS or whole.startswith("0")
