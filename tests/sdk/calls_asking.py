"""Calls that ask for prices, rulebooks, gradings and valuations, and the request that each is."""

from __future__ import annotations

from tests.sdk.calls_posting import DAY, INSTANT, Call

from gradewright_sdk import Part

PART = Part("frame", count=2, weight_each="27 lb 6 oz", observed={"metal": "steel", "thickness": "6.35 mm"})

CALLS: list[Call] = [
    (
        "prices.list",
        lambda c: c.prices.list(region="XO-KEL", on=DAY, known_at=312, weight="150 lb", grade="copper-no2"),
        "GET",
        "/v1/prices",
        {
            "region": "XO-KEL",
            "on": "2026-05-04",
            "known_at": "312",
            "weight": "150 lb",
            "grade": "copper-no2",
        },
        None,
    ),
    (
        "prices.list yard",
        lambda c: c.prices.list(yard="low-quay", known_at=INSTANT),
        "GET",
        "/v1/prices",
        {"yard": "low-quay", "known_at": "2026-05-04T09:00:00+00:00"},
        None,
    ),
    (
        "prices.series",
        lambda c: c.prices.series(
            "copper-no2", region="XO-KEL", from_="2026-01-01", to=DAY, step="week", known_at=9
        ),
        "GET",
        "/v1/prices/XO-KEL/copper-no2/series",
        {"from": "2026-01-01", "to": "2026-05-04", "step": "week", "known_at": "9"},
        None,
    ),
    (
        "prices.series yard",
        lambda c: c.prices.series("No. 2", yard="low-quay", weight="150 lb", known_at=INSTANT),
        "GET",
        "/v1/yards/low-quay/prices/No. 2/series",
        {"weight": "150 lb", "known_at": "2026-05-04T09:00:00+00:00"},
        None,
    ),
    (
        "prices.series_csv",
        lambda c: c.prices.series_csv("copper-no2", yard="low-quay", from_=DAY, to=DAY, step="day"),
        "GET",
        "/v1/yards/low-quay/prices/copper-no2/series",
        {"from": "2026-05-04", "to": "2026-05-04", "step": "day", "format": "csv"},
        None,
    ),
    (
        "prices.chart",
        lambda c: c.prices.chart("copper-no2", region="XO-KEL", weight="150 lb", known_at=9),
        "GET",
        "/v1/prices/XO-KEL/copper-no2/series",
        {"weight": "150 lb", "known_at": "9", "format": "svg"},
        None,
    ),
    ("rulebooks.list", lambda c: c.rulebooks.list(), "GET", "/v1/rulebooks", {}, None),
    (
        "rulebooks.in_force",
        lambda c: c.rulebooks.in_force(on=DAY),
        "GET",
        "/v1/rulebooks/in-force",
        {"on": "2026-05-04"},
        None,
    ),
    ("rulebooks.get", lambda c: c.rulebooks.get("2018.1"), "GET", "/v1/rulebooks/2018.1", {}, None),
    ("rulebooks.page", lambda c: c.rulebooks.page("2018.1"), "GET", "/v1/rulebooks/2018.1/page", {}, None),
    (
        "gradings.grade",
        lambda c: c.gradings.grade(
            {"metal": "copper", "soldered": False, "made_year": 1998, "capacitor_date": DAY},
            rulebook="2018.1",
            on=DAY,
            region="XO-KEL",
        ),
        "POST",
        "/v1/gradings",
        {},
        {
            "observed": {
                "metal": "copper",
                "soldered": False,
                "made_year": 1998,
                "capacitor_date": "2026-05-04",
            },
            "rulebook": "2018.1",
            "on": "2026-05-04",
            "region": "XO-KEL",
        },
    ),
    (
        "gradings.grade alone",
        lambda c: c.gradings.grade({}),
        "POST",
        "/v1/gradings",
        {},
        {"observed": {}},
    ),
    (
        "valuations.value",
        lambda c: c.valuations.value(
            [PART, {"name": "bar", "weight": "1 kg", "grade": "No. 2"}], region="XO-KEL", on=DAY, keep=True
        ),
        "POST",
        "/v1/valuations",
        {},
        {
            "region": "XO-KEL",
            "on": "2026-05-04",
            "keep": True,
            "parts": [
                {
                    "name": "frame",
                    "count": 2,
                    "weight_each": "27 lb 6 oz",
                    "observed": {"metal": "steel", "thickness": "6.35 mm"},
                },
                {"name": "bar", "weight": "1 kg", "grade": "No. 2"},
            ],
        },
    ),
    (
        "valuations.value pinned",
        lambda c: c.valuations.value([PART], yard="low-quay", known_at=INSTANT, rulebook="2014.1"),
        "POST",
        "/v1/valuations",
        {},
        {
            "yard": "low-quay",
            "known_at": "2026-05-04T09:00:00+00:00",
            "rulebook": "2014.1",
            "keep": False,
            "parts": [
                {
                    "name": "frame",
                    "count": 2,
                    "weight_each": "27 lb 6 oz",
                    "observed": {"metal": "steel", "thickness": "6.35 mm"},
                }
            ],
        },
    ),
    ("valuations.get", lambda c: c.valuations.get("v-1"), "GET", "/v1/valuations/v-1", {}, None),
    (
        "valuations.replay",
        lambda c: c.valuations.replay("v-1"),
        "POST",
        "/v1/valuations/v-1/replay",
        {},
        None,
    ),
    ("service.ready", lambda c: c.service.ready(), "GET", "/readyz", {}, None),
]
