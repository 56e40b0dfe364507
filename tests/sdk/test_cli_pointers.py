"""What would pay beside a valuation, on the command line."""

from __future__ import annotations

import json

from gradewright_sdk import Valuation
from gradewright_sdk.cli._chunks import together
from gradewright_sdk.testing import samples


def pointer(part: int, gain: str) -> dict[str, object]:
    """A part that pays more apart."""
    return {"kind": "take-apart", "part": part, "gain": gain, "says": f"take it apart: + {gain}"}


def valuation(*pointers: dict[str, object], parts: int = 2) -> Valuation:
    """A valuation of so many parts."""
    found = [samples.valued_part() for _ in range(parts)]
    raw = json.dumps(samples.valuation(*found, pointers=list(pointers))).encode()
    made = Valuation.model_validate_json(raw)
    made._raw = raw
    return made


def test_pointers_of_several_lists_are_one_list() -> None:
    """The largest gain comes first, and each names its part as it stands in the whole list."""
    hold = {"kind": "hold", "grade": "copper-no2", "gain": "3.00", "says": "hold it"}
    whole = json.loads(together([valuation(pointer(1, "2.00"), hold), valuation(pointer(0, "10.00"))]))
    assert [(one["gain"], one.get("part")) for one in whole["pointers"]] == [
        ("10.00", 2), ("3.00", None), ("2.00", 1),
    ]  # fmt: skip
    assert Valuation.model_validate(whole).pointers[0].gain.amount == 10
