"""Well-formed answers about what devices are made of; part of `samples`."""

from __future__ import annotations

from typing import Any

from gradewright_sdk.testing._shared import Json


def _likely(low: str, likely: str, high: str) -> Json:
    return {"low": low, "likely": likely, "high": high}


def device_kind(**fields: Any) -> Json:
    """A kind of device of which three people have recorded four."""
    return {
        "kind": "treadmill",
        "name": "Treadmill",
        "grade": "light-iron",
        "records": 4,
        "voices": 3,
        "published": False,
        "weight_kg": _likely("62", "70", "81"),
        "minutes": _likely("50", "62", "80"),
        **fields,
    }


def composition(**fields: Any) -> Json:
    """What a treadmill of 70 kg usually consists of."""
    iron = {
        "grade": "light-iron",
        "name": "Light iron",
        "share": _likely("0.55", "0.6", "0.68"),
        "weight_kg": _likely("38.5", "42", "47.6"),
        "pieces": None,
        "found": 4,
    }
    return {
        **device_kind(),
        "on": "2026-05-04",
        "known_at": 312,
        "rulebook": "2020.1",
        "weight": "70 kg",
        "parts": [iron],
        "rest": {"share": _likely("0.3", "0.4", "0.5"), "weight_kg": _likely("21", "28", "35")},
        "shares_rest_on": {
            "records": 4,
            "voices": 3,
            "says": "Each record tells the weight of the whole device: shares are of all.",
        },
        "says": ["From 4 devices that 3 people have taken apart."],
        "cautions": [],
        **fields,
    }


def device_record(**fields: Any) -> Json:
    """A treadmill as somebody recorded it."""
    part = {
        "grade": "light-iron",
        "weight": "42 kg",
        "share": None,
        "count": None,
        "observed": None,
        "says": None,
    }
    return {
        "id": "c-2f1c9a0b3d4e5f607182",
        "kind": "treadmill",
        "on": "2026-05-02",
        "weight": "70 kg",
        "made_year": 2009,
        "model": None,
        "minutes": "62",
        "region": "XO-KEL",
        "source": None,
        "from_memory": False,
        "note": None,
        "rulebook": "2020.1",
        "author": "wren",
        "revision": 310,
        "parts": [part],
        "withdrawn": None,
        **fields,
    }


def device_records(**fields: Any) -> Json:
    """A page with that record."""
    return {"known_at": 312, "records": [device_record()], "next": None, **fields}


def composition_recorded(**fields: Any) -> Json:
    """A record that was stored."""
    return {"id": "c-2f1c9a0b3d4e5f607182", "kind": "treadmill", "revision": 310, "unusual": [], **fields}
