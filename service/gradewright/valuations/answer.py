"""The bytes of an answer. Canonical JSON: sorted keys, no spaces, UTF-8, every decimal as text.

`pins.sha256` is the SHA-256 of those bytes with that one member left out, so that anyone can check it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

import msgspec

from gradewright.core.answers import Valuation
from gradewright.core.valuation import METHOD

_ENCODER = msgspec.json.Encoder(order="sorted")


@dataclass(frozen=True, slots=True)
class Pins:
    """What an answer depends on, besides the request."""

    rulebook: str
    revision: int
    method: str = METHOD


@dataclass(frozen=True, slots=True)
class Answer:
    """An encoded answer, its pins, and the SHA-256 that it carries."""

    body: bytes
    pins: Pins
    sha256: str


def canonical(value: object) -> bytes:
    """Canonical JSON of plain values and of the core's answers."""
    return _ENCODER.encode(value)


def encode(asked: Mapping[str, Any], valuation: Valuation, pins: Pins) -> Answer:
    """The answer to a request: `asked` (its region, yard, day) beside the valuation, and the pins."""
    body: dict[str, Any] = dict(asked)
    for field in fields(valuation):
        # Encoded once, though it is needed twice: for the digest and for the answer.
        body[field.name] = msgspec.Raw(_ENCODER.encode(getattr(valuation, field.name)))
    named = {"rulebook": pins.rulebook, "revision": pins.revision, "method": pins.method}
    sha256 = hashlib.sha256(_ENCODER.encode({**body, "pins": named})).hexdigest()
    return Answer(_ENCODER.encode({**body, "pins": {**named, "sha256": sha256}}), pins, sha256)
