"""Well-formed price lists and series; part of `samples`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from gradewright_sdk.testing._shared import Json


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
