"""Well-formed answers about scale tickets, as plain dictionaries; any field can be given. All is invented."""

from __future__ import annotations

from typing import Any

from gradewright_sdk.testing._shared import Json

PARTS = (
    "weight",
    "deductions",
    "grade",
    "price",
    "grade_or_price",
    "missing",
    "unexpected",
    "unpriced",
    "rounding",
    "arithmetic",
)


def settlement_effects(**fields: Any) -> Json:
    """Parts of a difference: nothing but what is given."""
    return {**dict.fromkeys(PARTS, "0.00"), **fields}


def settlement(**fields: Any) -> Json:
    """A ticket on which clean copper was lighter and marked down; it adds up, and all of it is matched."""
    effects = settlement_effects(weight="-3.50", grade="-3.60")
    return {
        "yard": "low-quay",
        "region": "XO-KEL",
        "on": "2026-05-04",
        "number": "T-1042",
        "currency": "USD",
        "against": {"valuation": None},
        "bins": [
            {
                "bin": "copper-no1",
                "part": None,
                "weight": {"kg": "4.5359237", "shown": "4.536 kg (10 lb)"},
                "price": {
                    "likely": "3.5",
                    "per": "lb",
                    "from_weight": None,
                    "says": "Low Quay's own price, today",
                },
                "amount": {"low": "31.50", "likely": "35.00", "high": "38.50"},
                "unpriced": None,
            }
        ],
        "lines": [
            {
                "line": 1,
                "label": "#2 Cu",
                "grade": "copper-no2",
                "grade_name": "Copper No. 2",
                "net": {"kg": "4.08233133", "shown": "4.082 kg (9 lb)"},
                "price": "3.10",
                "per": "lb",
                "amount": "27.90",
                "matched_by": "hand",
                "not_postable": None,
            }
        ],
        "charges": [],
        "total": "27.90",
        "cash": None,
        "paid": "27.90",
        "expected": {"low": "31.50", "likely": "35.00", "high": "38.50"},
        "difference": "-7.10",
        "effects": effects,
        "says": "Paid 7.10 USD less than expected: -3.60 grade, -3.50 weight.",
        "groups": [
            {
                "bins": [{"bin": "copper-no1", "part": None}],
                "lines": [1],
                "expected": "35.00",
                "paid": "27.90",
                "difference": "-7.10",
                "effects": effects,
                "says": "Paid 7.10 USD less than expected: -3.60 grade, -3.50 weight.",
            }
        ],
        "flaws": [],
        "adds_up": True,
        "complete": True,
        "unmatched": {"bins": [], "lines": []},
        "marked_down": [],
        "may_be_marked_down": [],
        "cautions": [],
        "pins": {"rulebook": "2018.1", "revision": 312, "method": "1", "sha256": "0" * 64},
        **fields,
    }


def settlement_withdrawn(**fields: Any) -> Json:
    """A settlement taken back, with one posted price."""
    return {
        "settlement": "s-1",
        "author": "wren",
        "reason": "another's ticket",
        "recorded_at": "2026-05-04T09:12:00Z",
        "posting": "p-1",
        "lines": [1],
        **fields,
    }


def markdowns(**fields: Any) -> Json:
    """A yard that marks clean copper down on two of three tickets."""
    often = {"tickets": 2, "of": 3, "share": "67 %", "low": "21 %", "high": "94 %"}
    return {
        "yard": "low-quay",
        "tickets": 3,
        "overall": {"often": often, "much": None, "unclear": 0},
        "grades": [{"grade": "copper-no1", "often": often, "much": None, "unclear": 0}],
        "says": "From 3 tickets of at least three sellers.",
        **fields,
    }
