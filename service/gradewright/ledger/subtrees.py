"""The kept nodes held against the leaves, and used to tell a changed row from a changed leaf."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import combinations

from gradewright.core.merkle import Growing, root_of
from gradewright.db.leaves import BLOCK, LEVELS
from gradewright.ledger.difference import Difference

MOST_MIXED = 6
"""Up to how many disagreements in one block every mixture of rows and leaves is tried."""


class Subtrees:
    """Takes the leaves in order, block by block."""

    def __init__(self, kept: Mapping[tuple[int, int], bytes]) -> None:
        self.kept = kept
        self.tree = Growing()
        self.differences: list[Difference] = []
        self._seen: set[tuple[int, int]] = set()
        self._below: dict[int, list[bytes | None]] = {level: [] for level in range(1, LEVELS + 1)}

    def add_block(
        self,
        rows: Sequence[bytes | None],
        leaves: Sequence[bytes | None],
        disagreeing: Mapping[int, Difference],
    ) -> list[bytes]:
        """A complete block: hashes of its rows and its leaves, and what was found of them, by place in it.

        Gives the leaves that are believed.
        """
        number = self.tree.size // BLOCK
        kept = self.kept.get((1, number))
        believed = believe(rows, leaves, disagreeing, lambda tried: root_of(tried) == kept)
        root = None if None in believed else root_of(_whole(believed))
        self._closed(1, number, root)
        whole = [each or b"" for each in believed]
        self.tree.add([root or kept or b""], of=BLOCK)
        return whole

    def _closed(self, level: int, number: int, root: bytes | None) -> None:
        """A node is complete: it is compared, and goes into the one above."""
        key = (level, number)
        kept = self.kept.get(key)
        self._seen.add(key)
        if kept is None or (root is not None and kept != root):
            what = "removed" if kept is None else "changed"
            self.differences.append(Difference("node", what, level=level, number=number))
        if level == LEVELS:
            return
        below = self._below[level]
        below.append(root or kept)
        if len(below) == BLOCK:
            above = None if None in below else root_of(_whole(below))
            below.clear()
            self._closed(level + 1, number // BLOCK, above)

    def unexpected(self) -> Iterator[Difference]:
        """Kept nodes over leaves that are not there."""
        for level, number in sorted(self.kept.keys() - self._seen):
            yield Difference("node", "added", level=level, number=number)


def believe(
    rows: Sequence[bytes | None],
    leaves: Sequence[bytes | None],
    disagreeing: Mapping[int, Difference],
    fits: Callable[[Sequence[bytes]], bool],
) -> list[bytes | None]:
    """For each place the leaf, or the row where that fits and the leaf does not; says so of each."""
    base = [leaf or row for leaf, row in zip(leaves, rows, strict=True)]
    open_places = [place for place in disagreeing if rows[place] is not None and leaves[place] is not None]
    if None in base:
        return base
    for changed in _mixtures(open_places):
        tried = _whole(base)
        for place in changed:
            tried[place] = rows[place] or b""
        if fits(tried):
            for place in open_places:
                _blame(disagreeing[place], leaf=place in changed)
            return list(tried)
    return base


def _blame(difference: Difference, *, leaf: bool) -> None:
    if leaf:
        difference.of, difference.detail, difference.row = "leaf", "its row is as it was sealed", None
    else:
        difference.detail = "the row is not what was sealed"


def _mixtures(places: Sequence[int]) -> Iterator[tuple[int, ...]]:
    """Which leaves may have been changed, and not their rows: none first, then ever more."""
    most = len(places) if len(places) <= MOST_MIXED else 1
    for count in range(most + 1):
        yield from combinations(places, count)
    if most < len(places):
        yield tuple(places)


def _whole(hashes: Sequence[bytes | None]) -> list[bytes]:
    return [each or b"" for each in hashes]
