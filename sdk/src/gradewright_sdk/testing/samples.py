"""Well-formed answers to start from, as plain dictionaries; any field can be given. All figures are
invented.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from gradewright_sdk.testing._benchmarks import (  # noqa: F401 - they are samples too
    backtest,
    benchmark,
    benchmark_import,
    benchmark_values,
    moved,
    predictions,
)
from gradewright_sdk.testing._compositions import (  # noqa: F401 - they are samples too
    composition,
    composition_recorded,
    device_kind,
    device_record,
    device_records,
)
from gradewright_sdk.testing._settlements import (  # noqa: F401 - they are samples too
    markdowns,
    settlement,
    settlement_effects,
    settlement_withdrawn,
)

Json = dict[str, Any]
SHA = "0" * 64


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


def posted_price(**fields: Any) -> Json:
    """A price of a posting."""
    return {
        "line": 1,
        "grade": "copper-no2",
        "label": None,
        "price": "3.35",
        "currency": "USD",
        "per": "lb",
        "from_weight": None,
        "status": "counts",
        "held": None,
        **fields,
    }


def held_price(**fields: Any) -> Json:
    """A price that waits, ten times what others are paid."""
    held = {
        "because": "far-off",
        "median": "7.275255",
        "spread": "0.220462",
        "score": "200.50",
        "yards": 3,
        "says": "At 3 yards others are paid 7.275255 USD for a kilogram in the middle, with a spread of "
        "0.220462: a score of 200.50. It counts as soon as a second author says the same.",
    }
    return posted_price(**{"price": "33.0", "status": "held", "held": held, **fields})


def posting(**fields: Any) -> Json:
    """A posting with one price."""
    return {
        "id": "p-1",
        "revision": 313,
        "yard": "low-quay",
        "observed_on": "2026-05-03",
        "evidence": "sign",
        "author": "wren",
        "recorded_at": "2026-05-04T09:12:00Z",
        "note": None,
        "prices": [posted_price()],
        "withheld": 0,
        "next_line": None,
        "words": [],
        **fields,
    }


def later_word(kind: str = "withdrawal", **fields: Any) -> Json:
    """A later word about the first line of a posting."""
    return {
        "revision": 314,
        "kind": kind,
        "lines": [1],
        "author": "wren" if kind == "withdrawal" else "teal",
        "verdict": "accepted" if kind == "decision" else None,
        "reason": "read the wrong line of the board",
        "recorded_at": "2026-05-04T10:30:00Z",
        **fields,
    }


def word_stored(kind: str = "withdrawal", **fields: Any) -> Json:
    """The same just stored."""
    return {**later_word(kind), "posting": "p-1", **fields}


def correction(**fields: Any) -> Json:
    """A line taken back and another in its place."""
    return {"withdrawal": word_stored(), "posting": posting(id="p-2", revision=314), **fields}


def held_prices(*postings: Mapping[str, Any]) -> Json:
    """What waits in a region; one price unless `postings` are given."""
    return {"postings": list(postings) or [posting(prices=[held_price()])]}


def list_change(change: str = "raised", **fields: Any) -> Json:
    """A line of a whole list, of a kind, and what it changes."""
    before = {
        "label": "#2 Cu",
        "price": "3.30",
        "currency": "USD",
        "per": "lb",
        "from_weight": None,
        "observed_on": "2026-04-27",
        "posting": "p-0000000000000000000f",
        "line": 1,
    }
    return {
        "line": 2,
        "change": change,
        "label": "#2 Cu",
        "grade": "copper-no2",
        "price": "3.35",
        "currency": "USD",
        "per": "lb",
        "from_weight": None,
        "by": "0.05",
        "percent": "1.5",
        "before": before,
        "faults": [],
        "near": [],
        **fields,
    }


def list_compared(*lines: Mapping[str, Any], **fields: Any) -> Json:
    """A dry run of a whole list; without lines, of one price that was raised."""
    changes = list(lines) or [list_change()]
    kinds = ("new", "raised", "lowered", "same", "gone", "refused", "unknown")
    counts = {kind: sum(line["change"] == kind for line in changes) for kind in kinds}
    return {
        "yard": "low-quay",
        "observed_on": "2026-05-04",
        "evidence": "written-list",
        "note": None,
        "rulebook": "2018.1",
        "dry_run": True,
        "can_be_stored": not counts["refused"] + counts["unknown"],
        "posting": None,
        "revision": None,
        "compared_with": 312,
        "counts": counts,
        "lines": changes,
        **fields,
    }


def basis(**fields: Any) -> Json:
    """What a price rests on."""
    return {
        "kind": "region",
        "place": "XO-KEL",
        "yards": 3,
        "entries": 9,
        "newest": "2026-05-02",
        "oldest": "2026-04-10",
        "thin": False,
        "kin": None,
        "says": "3 yards, newest 2 days old",
        "moved": None,
        **fields,
    }


def price(**fields: Any) -> Json:
    """One line of a price list."""
    return {
        "grade": "copper-no2",
        "name": "Copper No. 2",
        "family": "copper",
        "low": "3.20",
        "likely": "3.35",
        "high": "3.50",
        "per": "lb",
        "from_weight": None,
        "tiers": [],
        "basis": basis(),
        **fields,
    }


def price_list(*prices: Mapping[str, Any], **fields: Any) -> Json:
    """A price list; of one grade unless `prices` are given."""
    return {
        "region": "XO-KEL",
        "yard": None,
        "on": "2026-05-04",
        "known_at": 312,
        "currency": "USD",
        "rulebook": "2018.1",
        "prices": list(prices) or [price()],
        "unpriced": [],
        "refuses": [],
        **fields,
    }


def point(on: str = "2026-04-27", **fields: Any) -> Json:
    """One point of a history."""
    return {
        "on": on,
        "low": "3.20",
        "likely": "3.30",
        "high": "3.40",
        "yards": 3,
        "entries": 7,
        "newest": "2026-04-18",
        "newest_age_days": 9,
        "oldest": "2026-03-28",
        "oldest_age_days": 30,
        "thin": False,
        "rulebook": "2018.1",
        **fields,
    }


def series(points: Sequence[Mapping[str, Any]] | None = None, **fields: Any) -> Json:
    """The history of a price."""
    if points is None:
        before = {"newest_age_days": 2, "oldest_age_days": 23}
        points = [point("2026-04-20", low="3.00", likely="3.10", high="3.20", **before), point()]
    return {
        "region": "XO-KEL",
        "yard": None,
        "grade": "copper-no2",
        "name": "Copper No. 2",
        "weight": None,
        "currency": "USD",
        "per": "lb",
        "known_at": 312,
        "rulebook": "2018.1",
        "points": list(points),
        **fields,
    }


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
            "proof": {"proved": True, "bound": "18.00", "gap": "0.00", "says": "No plan leaves more."},
            "says": "Going to Cinder Lane leaves 0.50 less.",
        },
        "cautions": [],
        "pins": {"rulebook": "2018.1", "revision": 312, "method": "1", "sha256": SHA},
        **fields,
    }


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
        "minutes": "9",
        "missing": [],
        "net": "11.33",
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
        "typical": None,
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
