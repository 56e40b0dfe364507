"""Well-formed rulebooks and gradings; part of `samples`."""

from __future__ import annotations

from typing import Any

from gradewright_sdk.testing._prices import basis
from gradewright_sdk.testing._shared import SHA, Json
from gradewright_sdk.testing._valuations import spread


def rulebook(**fields: Any) -> Json:
    """A small rulebook: three grades, six attributes of different kinds."""
    return {
        "version": "2018.1",
        "effective_from": "2018-02-01",
        "title": "A small rulebook",
        "summary": "",
        "sha256": SHA,
        "families": {"copper": {"name": "Copper"}, "ferrous": {"name": "Ferrous"}},
        "limits": {},
        "attributes": {
            "metal": {
                "kind": "choice",
                "asks": "What metal is it?",
                "choices": {"copper": "red when filed", "steel": "a magnet sticks"},
                "test": "file a corner bright, then a magnet",
                "minutes": "0.5",
                "beware": "plated steel looks like copper",
            },
            "sticks_to_magnet": {
                "kind": "yes_no",
                "asks": "Does a magnet stick?",
                "test": "magnet",
                "minutes": "0.1",
            },
            "thickness": {"kind": "length", "asks": "How thick is it?", "test": "calliper", "minutes": "0.3"},
            "soldered": {
                "kind": "yes_no",
                "asks": "Is there solder on it?",
                "test": "by eye",
                "minutes": "0.2",
            },
            "made_year": {
                "kind": "year",
                "asks": "When was it made?",
                "test": "rating plate",
                "minutes": "1",
            },
            "capacitor_date": {
                "kind": "date",
                "asks": "What date is printed on it?",
                "test": "by eye",
                "minutes": "1",
            },
        },
        "grades": {
            "copper-no1": {"name": "Copper No. 1", "family": "copper", "aliases": ["No. 1"], "describes": ""},
            "copper-no2": {"name": "Copper No. 2", "family": "copper", "aliases": ["No. 2"], "describes": ""},
            "light-iron": {"name": "Light iron", "family": "ferrous", "aliases": ["shred"], "describes": ""},
        },
        "rules": [
            {"id": "clean-copper", "grade": "copper-no1", "when": {"metal": "copper", "soldered": False}},
            {"id": "soldered-copper", "grade": "copper-no2", "when": {"metal": "copper", "soldered": True}},
            {"id": "thin-steel", "grade": "light-iron", "when": {"metal": "steel"}},
        ],
        **fields,
    }


def next_test(**fields: Any) -> Json:
    """A next test."""
    return {
        "attribute": "soldered",
        "asks": "Is there solder on it?",
        "kind": "yes_no",
        "choices": None,
        "test": "by eye",
        "minutes": "0.2",
        "beware": "tinned ends count as solder",
        **fields,
    }


def grading(**fields: Any) -> Json:
    """A grading that is decided."""
    return {
        "rulebook": "2018.1",
        "outcome": "graded",
        "grade": "copper-no2",
        "name": "Copper No. 2",
        "rule": "soldered-copper",
        "because": "Soldered copper is No. 2.",
        "source": "common practice",
        "confidence": "common-practice",
        "settled_by": None,
        "currency": "USD",
        "price": None,
        "may_be_ungraded": False,
        "says": "This is Copper No. 2.",
        "candidates": [],
        "next_test": None,
        "not_worth": None,
        "in_doubt": [],
        "house_limits": [],
        "trace": [],
        "cautions": [],
        **fields,
    }


def undecided(**fields: Any) -> Json:
    """A grading that asks for another test."""
    unit_price = {**spread("3.20", "3.35", "3.50"), "per": "lb", "from_weight": None, "basis": basis()}
    return grading(
        **{
            "outcome": "undecided",
            "grade": None,
            "name": None,
            "rule": None,
            "because": None,
            "source": None,
            "confidence": None,
            "says": "It may be Copper No. 1 or Copper No. 2.",
            "candidates": [
                {"grade": "copper-no1", "name": "Copper No. 1", "price": None},
                {"grade": "copper-no2", "name": "Copper No. 2", "price": unit_price},
            ],
            "next_test": next_test(),
            **fields,
        }
    )
