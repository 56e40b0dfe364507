"""A well-formed teardown; part of `samples`."""

from __future__ import annotations

from typing import Any

from gradewright_sdk.testing._shared import SHA, Json


def teardown(**fields: Any) -> Json:
    """A motor that is worth opening, its windings not weighed."""
    return {
        "by_weights": {"high": "16.80", "low": "7.12"},
        "cautions": [
            {
                "certain": True,
                "id": "dust",
                "name": "Dust",
                "says": "Wear a mask.",
                "source": "common practice",
            }
        ],
        "changes": [
            {
                "becomes": "2.49375",
                "change": "-24.4 %",
                "grade": "copper-no2",
                "name": "Copper No. 2",
                "now": "3.30",
                "number": None,
                "per": "lb",
                "says": "Where Copper No. 2 pays 2.49 instead of 3.30 USD per lb, sell motor whole.",
                "then": {"does": "sell-whole", "name": "motor", "number": 0},
                "what": "price",
            }
        ],
        "changes_in_all": 1,
        "complete": True,
        "currency": "USD",
        "gain": "5.48",
        "heed": "Read the cautions first. Follow local law.",
        "hour_rate": "15.00",
        "labour": "2.25",
        "licence": None,
        "minutes": "9",
        "missing": [],
        "net": "11.33",
        "notes": [],
        "on": "2026-05-04",
        "per_hour": "36.50",
        "piles": [
            {
                "amount": "13.20",
                "grade": "copper-no2",
                "name": "Copper No. 2",
                "says": None,
                "weight": {"kg": "1.814369", "shown": "1.814 kg (4 lb)"},
            }
        ],
        "pins": {"rulebook": "2018.1", "revision": 312, "method": "1", "sha256": SHA},
        "plan": {
            "amount": {"high": "8.91", "likely": "8.10", "low": "7.29"},
            "because": None,
            "candidates": [],
            "cautions": ["dust"],
            "choice": "open",
            "count": 1,
            "grade": "copper-residue",
            "grade_name": "Copper-bearing residue",
            "name": "motor",
            "next_test": None,
            "number": 0,
            "opening": {
                "comes_to": "13.58",
                "cost": "0.00",
                "gain": "5.48",
                "how": "all-at-once",
                "in_all_minutes": "9",
                "leftover": {
                    "amount": "0.38",
                    "charge": None,
                    "grade": "light-iron",
                    "grade_name": "Light iron",
                    "lost_kg": None,
                    "name": None,
                    "unpriced": None,
                    "weight": {"kg": "2.267962", "shown": "2.268 kg (5 lb)"},
                },
                "minutes": "9",
                "pays": "below a rate",
                "per_hour": "36.50",
                "up_to": "36.50",
            },
            "outcome": "named",
            "parts": [
                {
                    "amount": {"high": "18.15", "likely": "13.20", "low": "5.94"},
                    "because": None,
                    "candidates": [],
                    "cautions": [],
                    "choice": "sell-whole",
                    "count": 1,
                    "grade": "copper-no2",
                    "grade_name": "Copper No. 2",
                    "name": "windings",
                    "next_test": None,
                    "number": 1,
                    "opening": None,
                    "outcome": "named",
                    "parts": [],
                    "pieces": 1,
                    "possible_cautions": [],
                    "taking_off": None,
                    "unpriced": None,
                    "weight": {
                        "high_kg": "2.267962",
                        "kg": "1.814369",
                        "low_kg": "0.907185",
                        "shown": "1.814 kg (4 lb)",
                    },
                    "why": "As it is it brings 13.20.",
                }
            ],
            "pieces": 1,
            "possible_cautions": [],
            "taking_off": None,
            "unpriced": None,
            "weight": {
                "high_kg": "4.082331",
                "kg": "4.082331",
                "low_kg": "4.082331",
                "shown": "4.082 kg (9 lb)",
            },
            "why": "Opened it brings 13.58 instead of 8.10 as it is.",
        },
        "priced": "Each grade has one price here.",
        "prices": [],
        "region": "XO-KEL",
        "says": "Open motor: 13.58 USD instead of 8.10 whole.",
        "parts": [],
        "schedule": [
            {"from_rate": "0.00", "minutes": "9", "stops": [], "to_rate": "36.50", "worth": "13.58"},
            {
                "from_rate": "36.50",
                "minutes": "0",
                "stops": [{"name": "motor", "number": 0, "what": "open"}],
                "to_rate": None,
                "worth": "8.10",
            },
        ],
        "together": None,
        "typical": None,
        "unnamed": None,
        "weighing": {
            "costs": "0.25",
            "minutes": "1",
            "parts": [{"gain": "0.81", "name": "windings", "number": 1, "pays": True}],
            "unweighed": 1,
        },
        "whole": {"high": "8.91", "likely": "8.10", "low": "7.29"},
        "worth": {"high": "18.48", "likely": "13.58", "low": "6.41"},
        "yard": None,
        **fields,
    }
