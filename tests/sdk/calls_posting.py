"""Calls about regions, yards and postings, and the request that each is."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

from gradewright_sdk import PriceSeen

DAY = date(2026, 5, 4)

INSTANT = datetime(2026, 5, 4, 9, tzinfo=UTC)

Call = tuple[str, Callable[[Any], Any], str, str, dict[str, str], object]

CALLS: list[Call] = [
    ("regions.list", lambda c: c.regions.list(), "GET", "/v1/regions", {}, None),
    ("regions.get", lambda c: c.regions.get("XO-KEL"), "GET", "/v1/regions/XO-KEL", {}, None),
    (
        "regions.create",
        lambda c: c.regions.create("XO-KEL", name="Kelder Bay", parent="XO", currency="USD", unit="lb"),
        "POST",
        "/v1/regions",
        {},
        {"code": "XO-KEL", "name": "Kelder Bay", "parent": "XO", "currency": "USD", "unit": "lb"},
    ),
    (
        "yards.house_rules",
        lambda c: c.yards.house_rules("low-quay", on=DAY, known_at=INSTANT),
        "GET",
        "/v1/yards/low-quay/house-rules",
        {"on": "2026-05-04", "known_at": "2026-05-04T09:00:00+00:00"},
        None,
    ),
    (
        "yards.add_house_rules",
        lambda c: c.yards.add_house_rules(
            "low-quay",
            reason="Sign at the gate.",
            from_=DAY,
            limits={"heavy_steel_thickness": "1/8 in", "sheet_below": None},
            labels={"Girder": "steel-heavy", "Beam": None},
            takes=["boards-low"],
        ),
        "POST",
        "/v1/yards/low-quay/house-rules",
        {},
        {
            "from": "2026-05-04",
            "reason": "Sign at the gate.",
            "limits": [
                {"limit": "heavy_steel_thickness", "value": "1/8 in"},
                {"limit": "sheet_below", "value": None},
            ],
            "labels": [{"label": "Girder", "grade": "steel-heavy"}, {"label": "Beam", "grade": None}],
            "refuses": [],
            "takes": ["boards-low"],
        },
    ),
    (
        "yards.add_house_rules listed",
        lambda c: c.yards.add_house_rules(
            "low-quay",
            reason="Sign at the gate.",
            limits=[{"limit": "sheet_below", "value": "2 mm", "says": "as they say"}],
            labels=[{"label": "Girder", "grade": "steel-heavy"}, {"label": "Beam", "grade": None}],
        ),
        "POST",
        "/v1/yards/low-quay/house-rules",
        {},
        {
            "reason": "Sign at the gate.",
            "limits": [{"limit": "sheet_below", "value": "2 mm", "says": "as they say"}],
            "labels": [{"label": "Girder", "grade": "steel-heavy"}, {"label": "Beam", "grade": None}],
            "refuses": [],
            "takes": [],
        },
    ),
    (
        "regions.house_rules",
        lambda c: c.regions.house_rules("XO-KEL", known_at=312),
        "GET",
        "/v1/regions/XO-KEL/house-rules",
        {"known_at": "312"},
        None,
    ),
    (
        "regions.add_house_rules",
        lambda c: c.regions.add_house_rules("XO-KEL", reason="By-law 12.", refuses=["boards-low"]),
        "POST",
        "/v1/regions/XO-KEL/house-rules",
        {},
        {"reason": "By-law 12.", "limits": [], "labels": [], "refuses": ["boards-low"], "takes": []},
    ),
    ("yards.list", lambda c: c.yards.list(), "GET", "/v1/yards", {}, None),
    ("yards.list region", lambda c: c.yards.list(region="XO"), "GET", "/v1/yards", {"region": "XO"}, None),
    ("yards.get", lambda c: c.yards.get("low-quay"), "GET", "/v1/yards/low-quay", {}, None),
    (
        "yards.create",
        lambda c: c.yards.create(
            "low-quay",
            name="Low Quay",
            region="XO-KEL",
            currency="USD",
            unit="lb",
            cash_increment=Decimal("0.05"),
            labels={"#2 Cu": "copper-no2"},
            refuses=["boards-low"],
        ),
        "POST",
        "/v1/yards",
        {},
        {
            "slug": "low-quay",
            "name": "Low Quay",
            "region": "XO-KEL",
            "currency": "USD",
            "unit": "lb",
            "rounding": "half-even",
            "cash_increment": "0.05",
            "labels": [{"label": "#2 Cu", "grade": "copper-no2"}],
            "refuses": ["boards-low"],
        },
    ),
    (
        "postings.create",
        lambda c: c.postings.create(
            "low-quay",
            observed_on=DAY,
            evidence="sign",
            note="by the gate",
            prices=[
                PriceSeen(Decimal("3.350"), "USD", "lb", grade="copper-no2", from_weight="100 lb"),
                {"label": "#2 Cu", "price": "3.10", "currency": "USD", "per": "lb"},
            ],
        ),
        "POST",
        "/v1/postings",
        {},
        {
            "yard": "low-quay",
            "observed_on": "2026-05-04",
            "evidence": "sign",
            "prices": [
                {
                    "price": "3.350",
                    "currency": "USD",
                    "per": "lb",
                    "grade": "copper-no2",
                    "from_weight": "100 lb",
                },
                {"label": "#2 Cu", "price": "3.10", "currency": "USD", "per": "lb"},
            ],
            "note": "by the gate",
        },
    ),
    ("postings.get", lambda c: c.postings.get("p-1"), "GET", "/v1/postings/p-1", {}, None),
    (
        "postings.get known_at",
        lambda c: c.postings.get("p-1", known_at=INSTANT, from_line=501),
        "GET",
        "/v1/postings/p-1",
        {"known_at": "2026-05-04T09:00:00+00:00", "from_line": "501"},
        None,
    ),
    (
        "postings.withdraw",
        lambda c: c.postings.withdraw("p-1", reason="wrong line"),
        "POST",
        "/v1/postings/p-1/withdrawal",
        {},
        {"reason": "wrong line"},
    ),
    (
        "postings.confirm",
        lambda c: c.postings.confirm("p-1", reason="saw it too", lines=[2, 3]),
        "POST",
        "/v1/postings/p-1/confirmation",
        {},
        {"reason": "saw it too", "lines": [2, 3]},
    ),
    (
        "postings.dispute",
        lambda c: c.postings.dispute("p-1", reason="never", lines=[]),
        "POST",
        "/v1/postings/p-1/dispute",
        {},
        {"reason": "never", "lines": []},
    ),
    (
        "postings.decide",
        lambda c: c.postings.decide("p-1", "rejected", reason="a slip", lines=(1,)),
        "POST",
        "/v1/postings/p-1/decision",
        {},
        {"reason": "a slip", "lines": [1], "verdict": "rejected"},
    ),
    (
        "postings.correct",
        lambda c: c.postings.correct(
            "p-1",
            [PriceSeen(Decimal("3.350"), "USD", "lb", grade="copper-no2")],
            reason="a slip",
            lines=[2],
            observed_on=DAY,
            evidence="ticket",
            note="by the gate",
        ),
        "POST",
        "/v1/postings/p-1/correction",
        {},
        {
            "reason": "a slip",
            "lines": [2],
            "prices": [{"price": "3.350", "currency": "USD", "per": "lb", "grade": "copper-no2"}],
            "observed_on": "2026-05-04",
            "evidence": "ticket",
            "note": "by the gate",
        },
    ),
    (
        "postings.correct all",
        lambda c: c.postings.correct(
            "p-1", [{"label": "#2 Cu", "price": "3", "currency": "USD", "per": "lb"}], reason="a slip"
        ),
        "POST",
        "/v1/postings/p-1/correction",
        {},
        {
            "reason": "a slip",
            "prices": [{"label": "#2 Cu", "price": "3", "currency": "USD", "per": "lb"}],
        },
    ),
    (
        "postings.held",
        lambda c: c.postings.held("XO-KEL"),
        "GET",
        "/v1/held-prices",
        {"region": "XO-KEL"},
        None,
    ),
]
