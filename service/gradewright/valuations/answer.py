"""The bytes of an answer. Canonical JSON: sorted keys, no spaces, UTF-8, every decimal as text.

`pins.sha256` is the SHA-256 of those bytes with that one member left out, so that anyone can check it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import msgspec

from gradewright.core.decimals import EXACT, plain
from gradewright.core.grading import Grader
from gradewright.core.valuation import METHOD, Pile, Valuation
from gradewright.valuations.lines import Lines, amount_shown
from gradewright.valuations.shapes import warning
from gradewright.valuations.weights import KILOGRAM, Weight

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
    """Canonical JSON of plain values."""
    return _ENCODER.encode(value)


class Answers:
    """Encodes valuations."""

    def __init__(self) -> None:
        self._lines = Lines()

    def encode(
        self,
        asked: Mapping[str, Any],
        valuation: Valuation,
        weights: Sequence[Weight],
        grader: Grader,
        pins: Pins,
    ) -> Answer:
        """The answer to a request: `asked` (its region, yard, day) beside the valuation, and the pins."""
        line = self._lines.encode
        parts = ",".join(
            [line(each, weight, grader) for each, weight in zip(valuation.lines, weights, strict=True)]
        )
        totals = valuation.totals
        body = {
            **asked,
            "complete": valuation.complete,
            "currency": valuation.currency,
            "parts": msgspec.Raw(f"[{parts}]".encode()),
            "piles": [_pile(pile, grader) for pile in valuation.piles],
            "totals": {
                **(amount_shown(totals.amount) or {}),
                "cash": None if totals.cash is None else plain(totals.cash),
                "priced": totals.priced,
                "unpriced": totals.unpriced,
            },
            "missing": [f"{each.part.name}: {each.unpriced}" for each in valuation.lines if each.unpriced],
            "cautions": [warning(caution) for caution in valuation.cautions],
        }
        named = {"rulebook": pins.rulebook, "revision": pins.revision, "method": pins.method}
        sha256 = hashlib.sha256(_ENCODER.encode({**body, "pins": named})).hexdigest()
        return Answer(_ENCODER.encode({**body, "pins": {**named, "sha256": sha256}}), pins, sha256)


def _pile(pile: Pile, grader: Grader) -> dict[str, Any]:
    return {
        "grade": pile.grade,
        "name": grader.rulebook.grades[pile.grade].name,
        "weight_kg": plain(EXACT.divide(pile.grams, KILOGRAM)),
        "lines": pile.lines,
        "amount": amount_shown(pile.amount),
    }
