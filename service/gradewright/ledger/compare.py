"""One revision's rows held against the leaves that were sealed for it. Values in, values out.

A leaf's hash says its number, revision and line, so a row whose hash is that of a leaf is where it was.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import zip_longest

from gradewright.db.entries import Line, hash_of
from gradewright.ledger.difference import Difference

MOST_TRIED = 100_000  # pairs of a row and a place, in one revision
FARTHEST = 1_000  # leaves without rows that one revision is thought to have lost
Leaf = Callable[[int], bytes | None]


@dataclass(slots=True)
class Compared:
    """Where a revision's leaves end, its rows' hashes by number, and what differs."""

    end: int
    hashes: dict[int, bytes]
    differences: list[Difference] = field(default_factory=list)


@dataclass(slots=True)
class Revision:
    """A revision as it is found: its rows in order, when it was recorded, how large its tree says it is."""

    number: int
    lines: Sequence[Line]
    recorded_at: str | None
    claimed: int | None
    posted_at: str | None = None

    def at(self, start: int) -> list[bytes]:
        """The hashes of the rows, if the first of them is entry `start`."""
        return [hash_of(start + place, line, self.recorded_at) for place, line in enumerate(self.lines)]

    def begins(self, start: int, leaf: Leaf) -> bool:
        """Whether one of the first rows is where it was, if the first of them is entry `start`."""
        return any(
            hash_of(start + place, line, self.recorded_at) == leaf(start + place)
            for place, line in enumerate(self.lines[:3])
        )


def compare(found: Revision, start: int, leaf: Leaf, total: int, after: Revision | None) -> Compared:
    """Compares; `start`: the first number of the revision, `total`: of all leaves, `after`: the next revision
    that has rows."""
    hashes = found.at(start)
    said: list[Difference] = []
    same = [hashed == leaf(start + place) for place, hashed in enumerate(hashes)]
    if not any(same) and found.lines and found.posted_at not in {None, found.recorded_at}:
        posted = Revision(found.number, found.lines, found.posted_at, found.claimed)
        if posted.begins(start, leaf):
            detail = f"its recorded_at is {found.recorded_at}; it was {found.posted_at}"
            said.append(Difference("revision", "changed", revision=found.number, detail=detail))
            found, hashes = posted, posted.at(start)
            same = [hashed == leaf(start + place) for place, hashed in enumerate(hashes)]
    end = _end(found, start, all(same), leaf, total, after)
    if found.claimed != end:
        what = "removed" if found.claimed is None else "changed"
        detail = f"its size is {end}" + ("" if found.claimed is None else f", not {found.claimed}")
        said.append(Difference("tree", what, revision=found.number, detail=detail))
    if all(same) and end == start + len(hashes):
        return Compared(end, dict(enumerate(hashes, start)), said)
    placed, more = _aligned(found, start, end, leaf)
    return Compared(end, placed, [*said, *more])


def _end(found: Revision, start: int, same: bool, leaf: Leaf, total: int, after: Revision | None) -> int:
    """Where the revision's leaves end: where its tree says, unless rows and leaves say otherwise."""
    counted: int = start + len(found.lines)
    claimed = found.claimed
    if claimed == counted:
        return counted
    if claimed is None or claimed < start:
        candidates: list[int] = [counted, *range(counted + 1, counted + 20)]
    else:
        candidates = [claimed, counted]

    def fits(end: int) -> bool:
        if same and end < counted:
            return False  # rows that are where they were, behind the end
        return end == total if after is None else after.begins(end, leaf)

    fitting = [end for end in candidates if fits(end)]
    if fitting:
        return fitting[0]
    likely = claimed is not None and counted - len(found.lines) <= claimed <= counted + FARTHEST
    return candidates[0] if likely and not (same and candidates[0] < counted) else counted


def _aligned(found: Revision, start: int, end: int, leaf: Leaf) -> tuple[dict[int, bytes], list[Difference]]:
    """Which row belongs to which leaf, where not every row is where it was."""
    leaves = {number: leaf(number) for number in range(start, end)}
    rows = dict(enumerate(found.lines))
    placed: dict[int, bytes] = {}

    def try_at(place: int, number: int) -> bool:
        line = found.lines[place]._replace(line=number - start + 1)
        hashed = hash_of(number, line, found.recorded_at)
        if leaves[number] != hashed:
            return False
        placed[number] = hashed
        del leaves[number], rows[place]
        return True

    said: list[Difference] = []
    for place, line in list(rows.items()):
        number = _own(line, start)
        if number is not None and number in leaves:
            try_at(place, number)
    if len(rows) * len(leaves) <= MOST_TRIED:
        for place, line in list(rows.items()):
            belongs = next((number for number in list(leaves) if try_at(place, number)), None)
            if belongs is not None and "posting" in line.entry:  # others have no line of their own to change
                said.append(_entry(found, "moved", _own(line, start), line, other=belongs))
    paired, left_rows, left_leaves = _paired(rows, sorted(leaves), start)
    for number, line in paired:
        hashed = placed[number] = hash_of(number, line, found.recorded_at)
        if leaves[number] is None:
            said.append(_leaf_gone(found, number, line))
        elif hashed != leaves[number]:
            said.append(_entry(found, "changed", number, line, leaf=leaves[number]))
    said += [_entry(found, "added", None, line) for line in left_rows]
    said += [_removed(found, number, start, leaves[number]) for number in left_leaves]
    return placed, said


def _own(line: Line, start: int) -> int | None:
    """The number that a row's line says; None where that is no number: only a hand can have put it there."""
    return start + line.line - 1 if type(line.line) is int else None


def _paired(
    rows: dict[int, Line], numbers: list[int], start: int
) -> tuple[list[tuple[int, Line]], list[Line], list[int]]:
    """Rows and leaves that are left over: by line where rows have one of their own, else in order."""
    paired, rest, left = [], [], dict.fromkeys(numbers)
    for line in rows.values():
        number = _own(line, start)
        if number is not None and number in left:
            paired.append((number, line))
            del left[number]
        else:
            rest.append(line)
    others = [line for line in rest if "posting" not in line.entry]
    for line, number in zip_longest(others, list(left)):
        if line is None or number is None:
            break
        paired.append((number, line))
        del left[number]
    used = {id(line) for _, line in paired}
    return paired, [line for line in rest if id(line) not in used], list(left)


def _entry(
    found: Revision,
    what: str,
    number: int | None,
    line: Line,
    *,
    leaf: bytes | None = None,
    other: int | None = None,
) -> Difference:
    return Difference(
        "entry",
        what,
        entry=number,
        revision=found.number,
        line=line.line,
        kind=str(line.entry["kind"]),
        other=other,
        row=line.entry,
        leaf=leaf,
        recorded_at=found.recorded_at,
    )


def _leaf_gone(found: Revision, number: int, line: Line) -> Difference:
    kind = str(line.entry["kind"])
    return Difference("leaf", "removed", entry=number, revision=found.number, line=line.line, kind=kind)


def _removed(found: Revision, number: int, start: int, leaf: bytes | None) -> Difference:
    detail = "" if leaf is not None else "its leaf too"
    return Difference(
        "entry",
        "removed",
        entry=number,
        revision=found.number,
        line=number - start + 1,
        detail=detail,
        leaf=leaf,
        recorded_at=found.recorded_at,
    )
