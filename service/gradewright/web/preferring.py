"""Which of several types an answer comes in (RFC 9110, 12.5.1)."""

from __future__ import annotations

import re
from collections.abc import Sequence

_WEIGHT = re.compile(r"0(\.[0-9]{0,3})?|1(\.0{0,3})?")


def preferred(accept: str, offers: Sequence[str]) -> str:
    """The offer that an Accept header gives the highest weight; of equal ones the first. The first where
    none is named at all."""
    weights: dict[str, float] = {}
    for part in accept.split(","):
        kind, *options = (piece.strip().lower() for piece in part.split(";"))
        told = next((option[2:] for option in options if option.startswith("q=")), "1")
        weights[kind] = float(told) if _WEIGHT.fullmatch(told) else 1.0
    return max(offers, key=lambda offer: _weight(offer, weights))


def _weight(offer: str, weights: dict[str, float]) -> float:
    """By the most precise range that has the type in it."""
    for kind in (offer, f"{offer.partition('/')[0]}/*", "*/*"):
        if kind in weights:
            return weights[kind]
    return 0.0
