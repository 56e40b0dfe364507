"""Where in a rulebook something stands, as people call it: `rule motor-copper, when copper_share`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from gradewright.core.errors import Path

NAMED = {
    "families": "family",
    "limits": "limit",
    "attributes": "attribute",
    "grades": "grade",
    "preparations": "preparation",
    "cautions": "caution",
}
NUMBERED = {
    "rules": "rule", "impossible": "impossible", "largest_first": "largest_first", "told_of": "told_of",
    "examples": "example",
}  # fmt: skip


def place(document: Mapping[str, Any], at: Path) -> str:
    """The words for a place: what it belongs to by its id, then the keys inside it."""
    if not at:
        return "the document"
    section, *inside = at
    whole = str(section)
    if inside and section in NAMED:
        whole = f"{NAMED[str(section)]} {inside.pop(0)}"
    elif inside and section in NUMBERED and isinstance(inside[0], int):
        number = int(inside.pop(0)) + 1
        unnamed = str(number) if section == "examples" else f"number {number}"
        whole = f"{NUMBERED[str(section)]} {_id(document, at) or unnamed}"
    steps = " ".join(f"({step + 1})" if isinstance(step, int) else step for step in inside)
    return f"{whole}, {steps}" if steps else whole


def _id(document: Mapping[str, Any], at: Path) -> str | None:
    """The id of an entry of a list, where it has one."""
    section, number = at[:2]
    entries = document.get(str(section))
    entry = entries[int(number)] if isinstance(entries, list) else None
    found = entry.get("id") if isinstance(entry, Mapping) else None
    return found if isinstance(found, str) and found else None
