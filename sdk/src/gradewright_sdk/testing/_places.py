"""Well-formed answers about regions, yards and their house rules; part of `samples`."""

from __future__ import annotations

from typing import Any

from gradewright_sdk.testing._shared import Json


def region(**fields: Any) -> Json:
    """A region."""
    return {"code": "XO-KEL", "name": "Kelder Bay", "parent": "XO", "currency": "USD", "unit": "lb", **fields}


def yard(**fields: Any) -> Json:
    """A yard."""
    return {
        "slug": "low-quay",
        "name": "Low Quay",
        "region": "XO-KEL",
        "currency": "USD",
        "unit": "lb",
        "rounding": "half-even",
        "cash_increment": None,
        "labels": [{"label": "#2 Cu", "grade": "copper-no2", "from": "2026-01-01"}],
        "refuses": [],
        "not_taken": [],
        **fields,
    }


def house_rule(**fields: Any) -> Json:
    """A limit of a yard's own."""
    return {
        "kind": "limit",
        "place": "low-quay",
        "limit": "heavy_steel_thickness",
        "value": "1/8 in",
        "says": "heavy steel begins at 1/8 in",
        "label": None,
        "grade": None,
        "lifted": False,
        "from": "2026-04-01",
        "reason": "Sign at the gate.",
        "author": "sedge",
        "revision": 311,
        **fields,
    }


def house_rules(**fields: Any) -> Json:
    """What holds at a yard, by one rule."""
    return {
        "region": "XO-KEL",
        "yard": "low-quay",
        "on": "2026-05-04",
        "known_at": 312,
        "in_force": [house_rule()],
        "history": [house_rule()],
        **fields,
    }


def house_rules_added(**fields: Any) -> Json:
    """One rule just added."""
    return {
        "region": "XO-KEL",
        "yard": "low-quay",
        "revision": 311,
        "rules": [house_rule()],
        "notes": [],
        **fields,
    }
