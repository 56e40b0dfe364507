"""A well-formed recovery; part of `samples`."""

from __future__ import annotations

from typing import Any

from gradewright_sdk.testing._shared import SHA, Json


def recovery(**fields: Any) -> Json:
    """The copper share of a cable, kept by nobody."""
    return {
        "kind": "sample",
        "region": None,
        "yard": None,
        "on": "2026-05-04",
        "currency": None,
        "copper": {
            "low": "57.85 %",
            "likely": "58.01 %",
            "high": "58.17 %",
            "attribute": "copper_share",
            "by_copper_number": None,
            "grams_per_metre": None,
            "strand_mm": None,
            "rests_on": ["297 g of copper out of 512 g of cable"],
            "says": "Between 57.85 % and 58.17 % of the weight is copper, most likely 58.01 %.",
        },
        "density": None,
        "grading": {
            "outcome": "graded",
            "grade": "wire-50",
            "because": "At least 50 % of the weight is copper.",
            "candidates": [{"grade": "wire-50", "name": "Insulated copper wire, 50 %", "price": None}],
            "may_be_ungraded": False,
            "bands": [{"from": "57.85 %", "to": "58.17 %", "grade": "wire-50"}],
            "house_limits": [],
        },
        "stripping": None,
        "precious": None,
        "notes": ["Without plugs and connectors: cut them off before you weigh."],
        "cautions": [
            {
                "id": "no-burning",
                "name": "Do not burn insulation",
                "says": "Smoke from burning insulation is poisonous.",
                "source": "made for tests",
            }
        ],
        "pins": {"rulebook": "2018.1", "revision": 312, "method": "1", "sha256": SHA},
        **fields,
    }
