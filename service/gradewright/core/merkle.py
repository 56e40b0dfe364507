"""Merkle trees as RFC 6962, section 2.1, defines them: hashes, roots, proofs and their verification.

A tree over a list that only grows. A leaf is hashed as SHA-256(0x00 || bytes), a node as
SHA-256(0x01 || left || right); a list of n > 1 leaves is split at the largest power of two below n.
What a proof consists of depends on numbers alone, so the functions that make one say which ranges of leaves
are wanted (`inclusion_ranges`, `consistency_ranges`), and whoever keeps the hashes works those out.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence

Range = tuple[int, int]
"""Leaves from the first number up to, and without, the second."""

EMPTY_ROOT = hashlib.sha256().digest()
"""The root of a tree without leaves."""


def leaf_hash(data: bytes) -> bytes:
    """The hash of a leaf that says `data`."""
    return hashlib.sha256(b"\x00" + data).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """The hash of the node over two subtrees."""
    return hashlib.sha256(b"\x01" + left + right).digest()


class Growing:
    """A tree of which only the outermost subtrees are kept: one hash for each bit of its size."""

    __slots__ = ("_subtrees", "size")

    def __init__(self) -> None:
        self.size = 0
        self._subtrees: list[bytes] = []  # complete, the largest first

    def add(self, hashes: Iterable[bytes], *, of: int = 1) -> None:
        """Adds leaves; or complete subtrees `of` so many leaves each, a power of two.

        Raises `ValueError` where a subtree would stand at a place that is not one of its own.
        """
        if self.size % of:
            raise ValueError(f"a subtree of {of} leaves cannot follow {self.size} leaves")
        for added in hashes:
            carried, place = added, self.size // of
            while place & 1:
                carried = node_hash(self._subtrees.pop(), carried)
                place >>= 1
            self._subtrees.append(carried)
            self.size += of

    def copy(self) -> Growing:
        """A tree like this one, which grows on its own."""
        made = Growing()
        made.size, made._subtrees = self.size, list(self._subtrees)
        return made

    def root(self) -> bytes:
        """The root of the tree as it is now."""
        if not self._subtrees:
            return EMPTY_ROOT
        found = self._subtrees[-1]
        for left in reversed(self._subtrees[:-1]):
            found = node_hash(left, found)
        return found


def root_of(hashes: Iterable[bytes]) -> bytes:
    """The root over leaves whose hashes these are."""
    tree = Growing()
    tree.add(hashes)
    return tree.root()


def inclusion_ranges(number: int, size: int) -> list[Range]:
    """The ranges whose roots prove that leaf `number` is in the tree of `size`, nearest to the leaf first."""
    if not 0 <= number < size:
        raise ValueError(f"there is no leaf {number} in a tree of {size}")
    start, end, found = 0, size, []
    while end - start > 1:
        middle = start + _split(end - start)
        if number < middle:
            found.append((middle, end))
            end = middle
        else:
            found.append((start, middle))
            start = middle
    return found[::-1]


def consistency_ranges(first: int, size: int) -> list[Range]:
    """The ranges whose roots prove that the tree of `first` leaves is the beginning of the tree of `size`."""
    if not 0 < first <= size:
        raise ValueError(f"a tree of {first} leaves is not the beginning of a tree of {size}")
    start, end, found, whole = 0, size, [], True
    while first != end:
        middle = start + _split(end - start)
        if first <= middle:
            found.append((middle, end))
            end = middle
        else:
            found.append((start, middle))
            start, whole = middle, False
    if not whole:  # else it is the root that the asker has already
        found.append((start, end))
    return found[::-1]


def inclusion_proof(number: int, hashes: Sequence[bytes]) -> list[bytes]:
    """The proof that leaf `number` is in the tree over these leaves' hashes."""
    return [root_of(hashes[start:end]) for start, end in inclusion_ranges(number, len(hashes))]


def consistency_proof(first: int, hashes: Sequence[bytes]) -> list[bytes]:
    """The proof that the first leaves were a tree of their own before the others came."""
    return [root_of(hashes[start:end]) for start, end in consistency_ranges(first, len(hashes))]


def is_included(leaf: bytes, number: int, size: int, proof: Sequence[bytes], root: bytes) -> bool:
    """Whether the proof leads from a leaf's hash to the root (RFC 9162, section 2.1.3.2)."""
    if not 0 <= number < size:
        return False
    place, last, found, left = number, size - 1, leaf, list(proof)
    while last:
        if not left:
            return False
        if place & 1 or place == last:
            found = node_hash(left.pop(0), found)
            while not place & 1 and place:
                place, last = place >> 1, last >> 1
        else:
            found = node_hash(found, left.pop(0))
        place, last = place >> 1, last >> 1
    return not left and found == root


def is_consistent(first: int, size: int, proof: Sequence[bytes], first_root: bytes, root: bytes) -> bool:
    """Whether the proof shows one tree to be the beginning of the other (RFC 9162, section 2.1.4.2).

    A tree without leaves is the beginning of every tree: its proof is empty.
    """
    if first == 0:
        return not proof and first_root == EMPTY_ROOT and (size > 0 or root == EMPTY_ROOT)
    if first == size:
        return not proof and first_root == root
    if not 0 < first < size:
        return False
    left = list(proof)
    place, last = first - 1, size - 1
    while place & 1:
        place, last = place >> 1, last >> 1
    if not place:  # the smaller tree is complete, and its root is where both begin
        left.insert(0, first_root)
    if not left:
        return False
    before = after = left.pop(0)
    for hashed in left:
        if not last:
            return False
        if place & 1 or place == last:
            before, after = node_hash(hashed, before), node_hash(hashed, after)
            while not place & 1 and place:
                place, last = place >> 1, last >> 1
        else:
            after = node_hash(after, hashed)
        place, last = place >> 1, last >> 1
    return last == 0 and before == first_root and after == root


def _split(width: int) -> int:
    """The largest power of two below a width of two or more."""
    return 1 << (width - 1).bit_length() - 1
