"""The key that signs checkpoints: given in a setting, or made at first need and kept in a file.

Whoever has checkpoints of a service knows it by this key, so it is never replaced by itself: a file that
cannot be read is told, not written anew. Several workers of one service share the setting or the file.

The cipher is imported where it is used: a service that nobody asks for checkpoints starts without it.
"""

from __future__ import annotations

import os
import secrets
from dataclasses import dataclass
from pathlib import Path

from gradewright.core.checkpoint import (
    Checkpoint,
    CheckpointError,
    Key,
    check_name,
    opened,
    private_text,
    read_private,
    signed,
)
from gradewright.core.errors import GradewrightError
from gradewright.db.engines import is_sqlite, read_url
from gradewright.settings import Settings

SUFFIX = ".checkpoint-key"


class NoCheckpointKey(GradewrightError):
    """There is no key to sign by, and none can be made."""

    slug = "unavailable"


@dataclass(frozen=True, slots=True)
class Signer:
    """A private key: signs checkpoints by the name of its ledger."""

    key: Key
    seed: bytes

    @property
    def text(self) -> str:
        """The private key as it is kept."""
        return private_text(self.key, self.seed)

    def sign(self, size: int, root: bytes) -> str:
        """The signed checkpoint of a tree. The same tree has the same text always (RFC 8032)."""
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

        secret = Ed25519PrivateKey.from_private_bytes(self.seed)
        return signed(Checkpoint(self.key.name, size, root), self.key, secret.sign)


def new_signer(name: str | None = None) -> Signer:
    """A new key. Without a name it is called after itself: gradewright-ledger-3f2a9c1d."""
    seed = secrets.token_bytes(32)
    public = _public(seed)
    return Signer(Key(check_name(name or f"gradewright-ledger-{public[:4].hex()}"), public), seed)


def read_signer(text: str) -> Signer:
    """The key of a private key's text. Raises `CheckpointError`."""
    name, stated, seed = read_private(text)
    key = Key(name, _public(seed))
    if key.id.hex() != stated:
        raise CheckpointError(
            f"The private key of {name} is damaged: its id is {key.id.hex()}, not {stated}."
        )
    return Signer(key, seed)


def open_checkpoint(note: str, key: Key) -> Checkpoint:
    """The checkpoint of a note that the key has signed. Raises `CheckpointError`."""
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    public = Ed25519PublicKey.from_public_bytes(key.public)

    def holds(signature: bytes, text: bytes) -> bool:
        try:
            public.verify(signature, text)
        except InvalidSignature:
            return False
        return True

    return opened(note, key, holds)


def key_file(settings: Settings) -> Path | None:
    """Where the key is kept: the file of the setting, else beside a SQLite database; None for a server."""
    if settings.checkpoint_key_file:
        return Path(settings.checkpoint_key_file)
    url = read_url(settings.database_url)
    if not is_sqlite(url) or not url.database or url.database.startswith("file:"):
        return None
    return Path(url.database + SUFFIX)


def find_signer(settings: Settings, *, make: bool = True) -> Signer | None:
    """The key of the settings; made, if wanted, where its file is not there yet. Raises `NoCheckpointKey`."""
    if settings.checkpoint_key:
        return _read(settings.checkpoint_key, "GRADEWRIGHT_CHECKPOINT_KEY")
    file = key_file(settings)
    if file is None:
        if not make:
            return None
        raise NoCheckpointKey(
            "There is no key to sign checkpoints by. Whoever runs this service can make one with "
            "`gradewright ledger make-key`, and give it to every worker in GRADEWRIGHT_CHECKPOINT_KEY or, as "
            "a file, in GRADEWRIGHT_CHECKPOINT_KEY_FILE."
        )
    try:
        if not file.exists():
            if not make:
                return None
            _write(file, new_signer(settings.ledger_name or None))
        text = file.read_text(encoding="utf-8")
    except OSError as error:
        raise NoCheckpointKey(
            f"The key that signs checkpoints cannot be read or made ({file.name}: {error.strerror}). Whoever "
            "runs this service can name another place in GRADEWRIGHT_CHECKPOINT_KEY_FILE, or give the key "
            "itself in GRADEWRIGHT_CHECKPOINT_KEY."
        ) from error
    return _read(text, f"the file {file.name}")


def _read(text: str, where: str) -> Signer:
    try:
        return read_signer(text)
    except CheckpointError as error:
        raise NoCheckpointKey(f"The key in {where} cannot be used: {error}") from error


def _write(file: Path, signer: Signer) -> None:
    """Puts a whole file there, readable by its owner only; one that another worker put there first stays."""
    aside = file.with_name(f"{file.name}.{secrets.token_hex(4)}")
    descriptor = os.open(aside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        with os.fdopen(descriptor, "w", encoding="utf-8") as opened_file:
            opened_file.write(signer.text + "\n")
            opened_file.flush()
            os.fsync(opened_file.fileno())
        try:
            os.link(aside, file)
        except FileExistsError:
            return
    finally:
        aside.unlink()


def _public(seed: bytes) -> bytes:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

    secret = Ed25519PrivateKey.from_private_bytes(seed)
    return secret.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw)
