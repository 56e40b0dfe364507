"""Well-formed answers about benchmarks; part of `samples`."""

from __future__ import annotations

from typing import Any

from gradewright_sdk.testing._shared import Json


def benchmark(**fields: Any) -> Json:
    """A benchmark with two values."""
    return {
        "slug": "copper",
        "name": "Copper",
        "currency": "USD",
        "unit": "t",
        "source": "made up",
        "revision": 310,
        "days": 2,
        "first": {"date": "2026-04-01", "value": "9000"},
        "last": {"date": "2026-05-01", "value": "9450.00"},
        **fields,
    }


def benchmark_values(**fields: Any) -> Json:
    """The same with its values."""
    made = benchmark()
    return {**made, "known_at": 312, "values": [made["first"], made["last"]], **fields}


def benchmark_import(**fields: Any) -> Json:
    """What a file of values changed."""
    change = {"line": 2, "date": "2026-05-01", "value": "9450.00", "change": "new", "before": None}
    return {
        "benchmark": "copper",
        "made": False,
        "dry_run": False,
        "revision": 312,
        "new": 1,
        "changed": 0,
        "same": 1,
        "changes": [change],
        **fields,
    }


def moved(**fields: Any) -> Json:
    """How a price moved with its benchmark, for the `moved` of a basis."""
    likely = {
        "seen": "3.22",
        "seen_on": "2026-04-10",
        "times": "1.04",
        "before": "9000",
        "before_on": "2026-04-01",
        "after": "9450.00",
        "after_on": "2026-05-01",
    }
    return {"benchmark": "copper", "share": "80 %", "entries": 5, "likely": likely, **fields}


def predictions(**fields: Any) -> Json:
    """What each method of a backtest was off by."""
    methods = [
        {"method": method, "median_error": error, "within": share, "within_from": least, "within_to": most}
        for method, error, share, least, most in (
            ("last-posted", "2.10", None, None, None),
            ("consensus", "1.80", "52.00", "38.51", "65.20"),
            ("consensus-with-benchmark", "1.20", "50.00", "36.64", "63.36"),
        )
    ]
    return {"cases": 50, "methods": methods, **fields}


def backtest(**fields: Any) -> Json:
    """How well the prices of a region would have been predicted."""
    return {
        "region": "XO-KEL",
        "from": "2026-04-06",
        "to": "2026-05-04",
        "known_at": 312,
        "known_when": "recorded",
        "rulebooks": ["2018.1"],
        "waiting": 1,
        "unknown": 4,
        "overall": predictions(),
        "by_yards": [predictions(yards=3)],
        "by_grade": [predictions(grade="copper-no2")],
        **fields,
    }
