"""Well-formed valuations; part of `samples`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from gradewright_sdk.testing._prices import basis
from gradewright_sdk.testing._shared import SHA, Json


def spread(low: str, likely: str, high: str) -> Json:
    """Low, likely and high."""
    return {"low": low, "likely": likely, "high": high}


def valued_part(**fields: Any) -> Json:
    """A graded and priced part of a valuation."""
    return {
        "name": "winding",
        "count": 1,
        "weight": {"given": "2 lb", "kg": "0.90718474", "shown": "0.907 kg (2 lb)"},
        "outcome": "graded",
        "grade": "copper-no2",
        "grade_name": "Copper No. 2",
        "rule": "soldered-copper",
        "because": "Soldered copper is No. 2.",
        "source": "common practice",
        "confidence": "common-practice",
        "candidates": [],
        "next_test": None,
        "price": {**spread("3.20", "3.35", "3.50"), "per": "lb", "from_weight": None, "basis": basis()},
        "amount": spread("6.40", "6.70", "7.00"),
        "unpriced": None,
        "raises": [],
        "cautions": [],
        **fields,
    }


def valuation(*parts: Mapping[str, Any], **fields: Any) -> Json:
    """A valuation, of one part unless `parts` are given. Its totals and piles are those of one part: give
    your own.
    """
    pile = {
        "grade": "copper-no2",
        "name": "Copper No. 2",
        "weight_kg": "0.90718474",
        "lines": 1,
        "amount": spread("6.40", "6.70", "7.00"),
    }
    return {
        "region": "XO-KEL",
        "yard": None,
        "on": "2026-05-04",
        "currency": "USD",
        "complete": True,
        "parts": list(parts) or [valued_part()],
        "piles": [pile],
        "totals": {**spread("6.40", "6.70", "7.00"), "cash": None, "priced": 1, "unpriced": 0},
        "hour_rate": "15.00",
        "missing": [],
        "pointers": [],
        "cautions": [],
        "pins": {"rulebook": "2018.1", "revision": 312, "method": "1", "sha256": SHA},
        **fields,
    }
