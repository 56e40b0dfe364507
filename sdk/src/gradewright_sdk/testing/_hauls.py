"""A well-formed haul; part of `samples`."""

from __future__ import annotations

from typing import Any

from gradewright_sdk.testing._prices import basis
from gradewright_sdk.testing._shared import SHA, Json
from gradewright_sdk.testing._valuations import spread


def haul(**fields: Any) -> Json:
    """A bin that goes to a yard, and one that stays, kept by nobody."""
    pounds = {"weight_kg": "4.5359237", "shown": "4.536 kg (10 lb)"}
    few = {"weight_kg": "0.5", "shown": "0.5 kg (1 lb 1.6 oz)"}
    bins = [
        ("windings", "copper-no2", "Copper No. 2", pounds),
        ("brass", "brass-yellow", "Yellow brass", few),
    ]
    return {
        "region": "XO-KEL",
        "yards": ["cinder-lane", "low-quay"],
        "on": "2026-05-04",
        "currency": "USD",
        "bins": [
            {
                "name": name,
                "grade": grade,
                "grade_name": grade_name,
                "weight": {"given": weight["weight_kg"] + " kg", **weight},
                "lots": 1,
                "lower_to": [],
                "priced_at": ["low-quay"],
                "refused_at": [],
            }
            for name, grade, grade_name, weight in bins
        ],
        "left_out": [],
        "most_trips": 1,
        "trips": [
            {
                "trip": 1,
                **pounds,
                "stops": [
                    {
                        "yard": "low-quay",
                        "name": "Low Quay",
                        "paid": spread("32.00", "33.50", "35.00"),
                        "piles": [
                            {
                                "grade": "copper-no2",
                                "grade_name": "Copper No. 2",
                                "labels": ["#2 Cu"],
                                **pounds,
                                "price": {
                                    "low": "3.20",
                                    "likely": "3.35",
                                    "high": "3.50",
                                    "per": "lb",
                                    "from_weight": None,
                                    "basis": basis(),
                                },
                                "amount": spread("32.00", "33.50", "35.00"),
                                "bins": [
                                    {
                                        "bin": 0,
                                        "name": "windings",
                                        "lots": 1,
                                        "lowered": False,
                                        **pounds,
                                        "amount": spread("32.00", "33.50", "35.00"),
                                    }
                                ],
                                "ask": None,
                            }
                        ],
                    }
                ],
                "loss": None,
                "says": None,
            }
        ],
        "kept": [
            {
                "bin": 1,
                "name": "brass",
                "lots": 1,
                **few,
                "why": "not-worth",
                "says": "Taking it leaves no more than keeping it. From 0.7 kg (1 lb 8.7 oz) on it would go.",
                "goes_from": {
                    "weight_kg": "0.7",
                    "shown": "0.7 kg (1 lb 8.7 oz)",
                    "more": "0.2 kg (7.05 oz)",
                    "proved": True,
                },
            }
        ],
        "paid": spread("32.00", "33.50", "35.00"),
        "costs": {"trips": "12.00", "stops": "3.00", "piles": "0.00", "total": "15.00"},
        "left": spread("17.00", "18.50", "20.00"),
        "proof": {"proved": True, "bound": "18.50", "gap": "0.00", "says": "No plan leaves more."},
        "second": {
            "yards": ["cinder-lane"],
            "left": "18.00",
            "less": "0.50",
            "proof": {
                "proved": True,
                "bound": "18.00",
                "gap": "0.00",
                "says": "No plan with another choice of yards leaves more.",
            },
            "says": "Going to Cinder Lane leaves 0.50 less.",
        },
        "cautions": [],
        "pins": {"rulebook": "2018.1", "revision": 312, "method": "2", "sha256": SHA},
        **fields,
    }
