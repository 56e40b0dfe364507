"""Entries of the ledger in a line for people, as `gradewright-client follow` prints them."""

from __future__ import annotations

import json
from typing import Any

import pytest

from gradewright_sdk._models._entries import KINDS, LedgerEntry
from gradewright_sdk.cli._entries import in_a_line

EVERY = {"number": 7, "revision": 321, "line": 3, "recorded_at": "2026-05-04T09:12:00Z"}
RECORD = {"composition": "c-1", "device_kind": "treadmill", "taken_on": "2026-05-02", "weight": "68.1 kg"}
MORE = {"region": "XO-KEL", "source": None, "note": None, "rulebook": "2026.2", "author": "wren"}
PART = {"composition": "c-1", "part": 2, "grade": "light-iron", "weight": "27 lb 6 oz", "share": None}
CASES: list[tuple[str, dict[str, Any], str]] = [
    ("benchmark", {"slug": "copper", "name": "Copper", "currency": "USD", "unit": "t", "source": "a market",
                   "author": "sedge"}, "copper Copper in USD per t, from a market"),
    ("benchmark", {"slug": "scrap", "name": "Scrap", "currency": None, "unit": None, "source": "a list",
                   "author": None}, "scrap Scrap, an index, from a list"),
    ("reading", {"benchmark": "copper", "date": "2026-05-01", "value": "9450.00", "author": "sedge"},
     "copper was 9450.00 on 2026-05-01"),
    ("device_kind", {"slug": "door", "name": "Door with a drive", "grade": "light-iron", "author": "sedge"},
     "door Door with a drive, sold whole as light-iron"),
    ("device_kind", {"slug": "door", "name": "Door", "grade": None, "author": None}, "door Door"),
    ("device_kind_correction", {"device_kind": "door", "name": "Gate", "grade": "steel-heavy",
                                "author": "sedge", "reason": "So it is called."},
     "door is Gate, sold whole as steel-heavy, by sedge: So it is called."),
    ("composition", {**RECORD, "made_year": 1998, "model": "T 4", "minutes": "61", "from_memory": 0, **MORE},
     "treadmill T 4 of 1998, 68.1 kg, 61 minutes (taken apart 2026-05-02, wren, c-1)"),
    ("composition", {**RECORD, "weight": None, "made_year": None, "model": None, "minutes": None,
                     "from_memory": 1, **MORE, "author": None, "source": "A study"},
     "treadmill, from memory (2026-05-02, A study, c-1)"),
    ("component", {**PART, "count": 2, "observed": '{"form":"tube","thickness":"2 mm"}', "says": None},
     "c-1 part 2: 2 light-iron, 27 lb 6 oz (form: tube, thickness: 2 mm)"),
    ("component", {**PART, "weight": None, "share": "12 %", "count": None, "observed": None,
                   "says": "the frame"}, "c-1 part 2: light-iron, 12 % (the frame)"),
    ("component", {**PART, "count": 1, "observed": None, "says": None}, "c-1 part 2: light-iron, 27 lb 6 oz"),
    ("composition_withdrawal", {"composition": "c-1", "author": "wren", "reason": "a slip"},
     "c-1 taken back, by wren: a slip"),
]  # fmt: skip


def line(kind: str, **members: Any) -> str:
    """What is told of an entry with these members."""
    whole = {**EVERY, "kind": kind, **members}
    entry = KINDS.get(kind, LedgerEntry).model_validate_json(json.dumps(whole))
    entry._raw = json.dumps(whole).encode()
    return in_a_line(entry)


@pytest.mark.parametrize(("kind", "members", "says"), CASES)
def test_an_entry_is_told_in_words(kind: str, members: dict[str, Any], says: str) -> None:
    """Each has its position, instant and kind, and then what it says as one would say it."""
    assert line(kind, **members) == f"321.3     2026-05-04 09:12:00Z  {kind:<12}  {says}"


def test_no_kind_that_is_known_is_left_to_its_fields() -> None:
    """Only what is newer than the client is told field by field."""
    told = {kind for kind, _, _ in CASES}
    before = {"price", "withdrawal", "confirmation", "dispute", "decision", "region", "yard", "label"}
    assert KINDS.keys() == told | before | {"refusal", "limit", "rulebook"}
    assert line("comet", tail="long", head=None).endswith("  comet         tail long")
