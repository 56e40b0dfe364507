"""The text of checkpoints and of their keys: C2SP tlog-checkpoint over C2SP signed-note, Ed25519 only.

Text in, values out. Signing and verifying take a function that does it: the core knows no cipher.

    ledger.example.org
    20852163
    CsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=

    — ledger.example.org Az3grlgtzPICa5OS8npVmf1Myq/5IZniMp+ZJurmRDeOo…
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import re
from collections.abc import Callable
from dataclasses import dataclass

ED25519 = b"\x01"
_NAME = re.compile(r"[^\s+\x00-\x1f\x7f]{1,200}")
_SIZE = re.compile(r"0|[1-9][0-9]{0,17}", re.ASCII)
_PRIVATE = "PRIVATE+KEY+"
_MOST = 64 * 1024  # of a note: room for hundreds of signatures


class CheckpointError(ValueError):
    """A text that is not a checkpoint or a key, or a signature that does not hold; says which and why."""


@dataclass(frozen=True, slots=True)
class Checkpoint:
    """A tree that somebody stands for: which log's, its size, its root."""

    origin: str
    size: int
    root: bytes

    @property
    def text(self) -> str:
        """The lines that are signed."""
        return f"{self.origin}\n{self.size}\n{_base64(self.root)}\n"


@dataclass(frozen=True, slots=True)
class Key:
    """A public key (32 bytes, RFC 8032) and the name it signs by. As text: `name+id+key`."""

    name: str
    public: bytes

    @property
    def id(self) -> bytes:
        """The first four bytes of SHA-256(name || newline || 0x01 || public key)."""
        return hashlib.sha256(self.name.encode() + b"\n" + ED25519 + self.public).digest()[:4]

    @property
    def text(self) -> str:
        """How the key is handed on."""
        return f"{self.name}+{self.id.hex()}+{_base64(ED25519 + self.public)}"


def check_name(name: str) -> str:
    """The name, if a key can have it: no spaces and no plus signs. Raises `CheckpointError`."""
    if not _NAME.fullmatch(name):
        raise CheckpointError(
            f"{name[:80]!r} cannot be the name of a ledger: write one without spaces and plus signs, such as "
            "ledger.example.org"
        )
    return name


def read_key(text: str) -> Key:
    """A public key from its text. Raises `CheckpointError`."""
    name, stated, raw = _parts(text.strip(), "public key", "name+id+key")
    key = Key(name, raw)
    if stated != key.id.hex():
        raise CheckpointError(f"The public key of {name} is damaged: its id is {key.id.hex()}, not {stated}.")
    return key


def private_text(key: Key, seed: bytes) -> str:
    """A private key (its 32-byte seed) as text."""
    return f"{_PRIVATE}{key.name}+{key.id.hex()}+{_base64(ED25519 + seed)}"


def read_private(text: str) -> tuple[str, str, bytes]:
    """The name, the id in hex, and the seed of a private key from its text. Raises `CheckpointError`."""
    stripped = text.strip()
    if not stripped.startswith(_PRIVATE):
        raise CheckpointError(f"A private key for checkpoints begins with {_PRIVATE}; this text does not.")
    return _parts(stripped[len(_PRIVATE) :], "private key", f"{_PRIVATE}name+id+key")


def signed(checkpoint: Checkpoint, key: Key, sign: Callable[[bytes], bytes]) -> str:
    """The signed note: the checkpoint, a blank line, and the signature by `key`."""
    signature = _base64(key.id + sign(checkpoint.text.encode()))
    return f"{checkpoint.text}\n— {key.name} {signature}\n"


def opened(note: str, key: Key, verify: Callable[[bytes, bytes], bool]) -> Checkpoint:
    """The checkpoint of a note that `key` has signed; signatures by other keys are passed over.

    `verify(signature, text)` says whether an Ed25519 signature by the key holds. Raises `CheckpointError`.
    """
    text, lines = _split(note)
    signatures = [found for found in map(_signature, lines) if found[:2] == (key.name, key.id)]
    if not signatures:
        raise CheckpointError(f"The checkpoint is not signed by {key.name} with the key {key.id.hex()}.")
    if not all(verify(signature, text.encode()) for _, _, signature in signatures):
        raise CheckpointError(f"The signature of {key.name} under the checkpoint does not hold.")
    return read_text(text)


def unsigned(note: str) -> Checkpoint:
    """The checkpoint of a note, whoever may have signed it."""
    return read_text(_split(note)[0])


def read_text(text: str) -> Checkpoint:
    """The checkpoint that the lines of a note's text say. Raises `CheckpointError`."""
    lines = text.split("\n")
    if len(lines) < 4 or lines[-1] or not all(lines[:-1]):
        raise CheckpointError(
            "A checkpoint has a line each for its origin, size and root; this text has not."
        )
    origin, size, root = lines[:3]
    if not _SIZE.fullmatch(size):
        raise CheckpointError(f"The second line of a checkpoint is the size of the tree, not {size[:80]!r}.")
    decoded = _decoded(root)
    if decoded is None or len(decoded) != 32:
        raise CheckpointError("The third line of a checkpoint is its root: 32 bytes as base64.")
    return Checkpoint(origin, int(size), decoded)


def _split(note: str) -> tuple[str, list[str]]:
    """The text and the lines of signatures; the last blank line stands between them."""
    head, blank, tail = note.rpartition("\n\n")
    control = any(ord(sign) < 32 and sign != "\n" for sign in note)
    if not blank or not tail.endswith("\n") or control or len(note) > _MOST:
        raise CheckpointError("This is not a signed note: it is a text, a blank line, and signatures.")
    return head + "\n", tail[:-1].split("\n")


def _signature(line: str) -> tuple[str, bytes, bytes]:
    dash, _, rest = line.partition(" ")
    name, _, encoded = rest.partition(" ")
    raw = _decoded(encoded)
    if dash != "—" or not _NAME.fullmatch(name) or raw is None or len(raw) < 5:
        raise CheckpointError("A signature is written: an em dash, the key's name, base64. This line is not.")
    return name, raw[:4], raw[4:]


def _parts(text: str, what: str, form: str) -> tuple[str, str, bytes]:
    parts = text.split("+", 2)  # base64 may have a plus of its own
    raw = _decoded(parts[2]) if len(parts) == 3 else None
    if raw is None or not _NAME.fullmatch(parts[0]):
        raise CheckpointError(f"This is not a {what} for checkpoints: it is written {form}.")
    if raw[:1] != ED25519 or len(raw) != 33:
        raise CheckpointError(f"The {what} of {parts[0]} is of another kind than Ed25519.")
    return parts[0], parts[1], raw[1:]


def _base64(raw: bytes) -> str:
    return base64.b64encode(raw).decode()


def _decoded(text: str) -> bytes | None:
    try:
        return base64.b64decode(text, validate=True)
    except (binascii.Error, ValueError):
        return None
