"""Checking what a ledger proves of itself: trees and proofs of RFC 6962, and signed checkpoints.

Nothing here asks a service. Checkpoints are signed notes of the open forms signed-note and tlog-checkpoint
(C2SP) with Ed25519; checking their signatures needs `pip install 'gradewright-sdk[verify]'`.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass

EMPTY_ROOT = hashlib.sha256().digest()


class ProofError(ValueError):
    """A proof, a checkpoint or a key that does not hold, or is none; says which and why."""


def leaf_hash(entry: bytes) -> bytes:
    """The hash of the leaf of an entry in its canonical form."""
    return hashlib.sha256(b"\0" + entry).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """The hash of the node over two subtrees."""
    return hashlib.sha256(b"\1" + left + right).digest()


class Tree:
    """A tree that grows leaf by leaf, and remembers only what its root needs."""

    def __init__(self) -> None:
        self.size = 0
        self._subtrees: list[bytes] = []

    def add(self, leaf: bytes) -> None:
        """Adds the hash of a leaf."""
        place = self.size
        while place & 1:
            leaf = node_hash(self._subtrees.pop(), leaf)
            place >>= 1
        self._subtrees.append(leaf)
        self.size += 1

    @property
    def root(self) -> bytes:
        """The root over the leaves so far."""
        if not self._subtrees:
            return EMPTY_ROOT
        *left, found = self._subtrees
        for each in reversed(left):
            found = node_hash(each, found)
        return found


def check_inclusion(leaf: bytes, number: int, size: int, path: Sequence[bytes], root: bytes) -> None:
    """Raises ProofError unless `path` leads from leaf `number` to the root of the tree of `size` leaves."""
    if not 0 <= number < size:
        raise ProofError(f"There is no entry {number} in a tree of {size}.")
    inner = (number ^ (size - 1)).bit_length()  # below this height, leaf and end lie in one subtree
    border = (number >> inner).bit_count()
    if len(path) != inner + border:
        raise ProofError(f"The proof of entry {number} has {len(path)} hashes, not {inner + border}.")
    found = leaf
    for height, hashed in enumerate(path[:inner]):
        found = node_hash(hashed, found) if number >> height & 1 else node_hash(found, hashed)
    for hashed in path[inner:]:
        found = node_hash(hashed, found)
    if found != root:
        raise ProofError(f"The proof of entry {number} leads to another root than that of the checkpoint.")


def check_consistency(first: int, size: int, path: Sequence[bytes], first_root: bytes, root: bytes) -> None:
    """Raises ProofError unless `path` shows the tree of `first` leaves to be the beginning of the other."""
    if not 0 <= first <= size:
        raise ProofError(f"A tree of {first} entries is not the beginning of one of {size}.")
    if first in {0, size}:
        expected = EMPTY_ROOT if first == 0 else root
        if path or first_root != expected:
            raise ProofError(f"The trees of {first} and {size} entries do not go together.")
        return
    height = (first & -first).bit_length() - 1  # of the last complete subtree of the smaller tree
    inner = ((first - 1) ^ (size - 1)).bit_length() - height
    border = ((first - 1) >> (height + inner)).bit_count()
    start = 0 if first == 1 << height else 1  # a complete smaller tree is where both begin
    if len(path) != start + inner + border:
        raise ProofError(f"The proof from {first} to {size} entries has {len(path)} hashes; it needs others.")
    before = after = path[0] if start else first_root
    place = (first - 1) >> height
    for step, hashed in enumerate(path[start : start + inner]):
        if place >> step & 1:
            before, after = node_hash(hashed, before), node_hash(hashed, after)
        else:
            after = node_hash(after, hashed)
    for hashed in path[start + inner :]:
        before, after = node_hash(hashed, before), node_hash(hashed, after)
    if before != first_root:
        raise ProofError(f"The first {first} entries are not those of the earlier checkpoint.")
    if after != root:
        raise ProofError(
            f"What came after {first} entries does not lead to the root of the later checkpoint."
        )


@dataclass(frozen=True, slots=True)
class Key:
    """A public Ed25519 key, and the name it signs by."""

    name: str
    public: bytes

    @property
    def id(self) -> bytes:
        """The first four bytes of SHA-256(name || newline || 0x01 || key)."""
        return hashlib.sha256(self.name.encode() + b"\n\1" + self.public).digest()[:4]

    def __str__(self) -> str:
        return f"{self.name}+{self.id.hex()}+{base64.b64encode(bytes([1]) + self.public).decode()}"


@dataclass(frozen=True, slots=True)
class Checkpoint:
    """A tree that somebody has signed: whose, how many entries, its root."""

    origin: str
    size: int
    root: bytes


def read_key(text: str) -> Key:
    """A key from its text, name+id+key. Raises ProofError."""
    name, _, rest = text.strip().partition("+")
    stated, _, encoded = rest.partition("+")
    raw = _decoded(encoded)
    if not name or raw is None or len(raw) != 33 or raw[0] != 1:
        raise ProofError("This is not the public key of a ledger: it is written name+id+key.")
    key = Key(name, raw[1:])
    if stated != key.id.hex():
        raise ProofError(f"The key of {name} is damaged: its id is {key.id.hex()}, not {stated}.")
    return key


def open_checkpoint(note: str, key: Key) -> Checkpoint:
    """What a note says that the key has signed. Raises ProofError; ImportError without `cryptography`."""
    text, blank, signatures = note.rpartition("\n\n")
    if not blank or not signatures.endswith("\n"):
        raise ProofError("This is not a checkpoint. One is a text, a blank line, and signatures under it.")
    text += "\n"
    ours = []
    for line in signatures.splitlines():
        dash, _, rest = line.partition(" ")
        name, _, encoded = rest.partition(" ")
        raw = _decoded(encoded)
        if dash != "—" or raw is None:
            raise ProofError("The checkpoint has a line that is no signature.")
        if name == key.name and raw[:4] == key.id:
            ours.append(raw[4:])
    if not ours:
        raise ProofError(
            f"The checkpoint is not signed by the key {key.id.hex()} of {key.name}. Another service answers "
            "at this address by now, or it has a new key: ask whoever runs it."
        )
    if not all(_holds(key, signature, text.encode()) for signature in ours):
        raise ProofError(f"The signature of {key.name} under the checkpoint does not hold.")
    return _read(text)


def _read(text: str) -> Checkpoint:
    lines = text.split("\n")
    root = _decoded(lines[2]) if len(lines) > 3 else None
    size = lines[1] if len(lines) > 1 else ""
    if root is None or len(root) != 32 or not (size.isascii() and size.isdigit()) or str(int(size)) != size:
        raise ProofError("The checkpoint does not say its origin, size and root.")
    return Checkpoint(lines[0], int(size), root)


def _holds(key: Key, signature: bytes, text: bytes) -> bool:
    try:
        from cryptography.exceptions import InvalidSignature
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
    except ImportError as error:
        raise ImportError("checking signatures needs: pip install 'gradewright-sdk[verify]'") from error
    try:
        Ed25519PublicKey.from_public_bytes(key.public).verify(signature, text)
    except InvalidSignature:
        return False
    return True


def _decoded(text: str) -> bytes | None:
    try:
        return base64.b64decode(text, validate=True)
    except (binascii.Error, ValueError):
        return None
