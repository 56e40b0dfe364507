"""The bytes of an answer. Canonical JSON: sorted keys, no spaces, UTF-8, every decimal as text.

`pins.sha256` is the SHA-256 of those bytes with that one member left out, so that anyone can check it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import msgspec

_ENCODER = msgspec.json.Encoder(order="sorted")


@dataclass(frozen=True, slots=True)
class Pins:
    """What an answer depends on, besides the request."""

    rulebook: str
    revision: int
    method: str

    def named(self) -> dict[str, Any]:
        """As they stand in an answer, without its hash."""
        return {"method": self.method, "revision": self.revision, "rulebook": self.rulebook}


@dataclass(frozen=True, slots=True)
class Answer:
    """An encoded answer, its pins, and the SHA-256 that it carries."""

    body: bytes
    pins: Pins
    sha256: str


def canonical(value: object) -> bytes:
    """Canonical JSON of plain values."""
    return _ENCODER.encode(value)


def sealed(answer: Mapping[str, Any], pins: Pins) -> Answer:
    """The answer with its pins, and their hash over all of it."""
    named: dict[str, object] = pins.named()
    # Encoded once, for the hash and for the answer.
    encoded: dict[str, object] = {name: msgspec.Raw(canonical(value)) for name, value in answer.items()}
    sha256 = hashlib.sha256(canonical({**encoded, "pins": named})).hexdigest()
    return Answer(canonical({**encoded, "pins": {**named, "sha256": sha256}}), pins, sha256)
