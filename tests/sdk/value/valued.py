"""A file of parts, and what the service answers to such."""

from __future__ import annotations

from typing import Any

from gradewright_sdk.testing import samples

CSV = "name,weight,metal,soldered\nwinding,2 lb,copper,yes\n"


def incomplete() -> dict[str, Any]:
    """A valuation of four parts: one priced, one undecided, one without a price, one that can be raised."""
    undecided = samples.valued_part(
        name="odd [red] bar",
        outcome="undecided",
        grade=None,
        grade_name=None,
        price=None,
        amount=None,
        unpriced="too little is known",
        candidates=[
            {"grade": "copper-no1", "name": "Copper No. 1", "amount": samples.spread("8.00", "8.40", "8.80")},
            {"grade": "copper-no2", "name": "Copper No. 2", "amount": samples.spread("6.40", "6.70", "7.00")},
        ],
        next_test=samples.next_test(),
    )
    unpriced = samples.valued_part(
        name="frame", outcome="named", grade="light-iron", grade_name="Light iron", price=None, amount=None,
        unpriced="no yard posted it",
    )  # fmt: skip
    better = {
        "preparation": "open-motor",
        "name": "Open the motor",
        "how": "Cut the windings out.",
        "minutes": "20",
        "grade": "copper-no2",
        "grade_name": "Copper No. 2",
        "gain": "4.10",
        "per_hour": "12.30",
        "cautions": ["mains-lead"],
    }
    motor = samples.valued_part(name="motor", count=2, raises=[better], cautions=["stored-charge"])
    charge = {"id": "stored-charge", "name": "Stored charge", "says": "Discharge and verify.", "source": "x"}
    return samples.valuation(
        samples.valued_part(),
        undecided,
        unpriced,
        motor,
        complete=False,
        missing=["odd [red] bar: too little is known", "frame: no yard posted it"],
        totals={**samples.spread("12.80", "13.40", "14.00"), "cash": "13.40", "priced": 2, "unpriced": 2},
        cautions=[charge],
    )
