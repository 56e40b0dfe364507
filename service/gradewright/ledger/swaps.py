"""Among rows that changed, those that took each other's place: tried out on the leaves' hashes."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations, permutations
from typing import cast

from gradewright.db.entries import Entry, Line, hash_of
from gradewright.ledger.difference import Difference

MOST_PAIRED = 400
MOST_MIXED = 60


def name_swaps(found: list[Difference]) -> None:
    """Says of differences that they are exchanges: of whole rows, or of one member's values."""
    changed = [
        each for each in found if each.of == "entry" and each.what == "changed" and each.row is not None
    ]
    if len(changed) <= MOST_PAIRED:
        _whole_rows(changed)
    left = [each for each in changed if each.what == "changed"]
    if len(left) <= MOST_MIXED:
        _one_member(left)
    _moved(found)
    moved = {each.entry: each for each in found if each.what == "moved" and each.entry is not None}
    for entry, each in moved.items():
        partner = None if each.other is None else moved.get(each.other)
        if partner is not None and partner.other == entry and each.what == "moved":
            _swap(each, partner, "")


def _fits(entry: Entry, place: Difference) -> bool:
    """Whether an entry, in the place of a leaf, has its hash."""
    if place.entry is None or place.revision is None or place.line is None:
        return False
    line = Line(place.revision, place.line, entry)
    return hash_of(place.entry, line, place.recorded_at) == place.leaf


def _whole_rows(changed: Sequence[Difference]) -> None:
    for one, other in combinations(changed, 2):
        free = "swapped" not in {one.what, other.what}
        if free and _fits(_row(one), other) and _fits(_row(other), one):
            _swap(one, other, "")


def _one_member(changed: Sequence[Difference]) -> None:
    for one, other in combinations(changed, 2):
        if "swapped" in {one.what, other.what}:
            continue
        for member in _row(one).keys() & _row(other).keys():
            mine, others = _row(one)[member], _row(other)[member]
            if mine == others or not _fits({**_row(one), member: others}, one):
                continue
            if _fits({**_row(other), member: mine}, other):
                _swap(one, other, f"their values of {member!r}")
                break


def _moved(found: list[Difference]) -> None:
    """A row that is too much somewhere and lacks elsewhere, or that another took the place of."""
    wanting = [each for each in found if each.of == "entry" and each.what in {"removed", "changed"}]
    loose = [each for each in found if each.of == "entry" and each.what in {"added", "changed"} and each.row]
    if len(wanting) * len(loose) > MOST_PAIRED**2:
        return
    for row in loose:
        for place in wanting:
            if row is not place and place.what in {"removed", "changed"} and _fits(_row(row), place):
                row.what, row.other, row.detail = "moved", place.entry, ""
                if place.what == "removed":
                    found.remove(place)
                    wanting.remove(place)
                break


def _swap(one: Difference, other: Difference, detail: str) -> None:
    for each, partner in permutations((one, other)):
        each.what, each.other, each.detail = "swapped", partner.entry, detail


def _row(found: Difference) -> Entry:
    return cast("Entry", found.row)
