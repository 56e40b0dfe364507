"""Yards and their house rules as entries of the ledger.

In one revision the yard comes first, then what is said of it, kind by kind, each by its key.
"""

from __future__ import annotations

from gradewright.db.entries import Form, Forms
from gradewright.yards.models import YardLabelRow, YardLimitRow, YardRefusalRow, YardRow

_FROM = {"valid_from": "from"}
_BY = ("author", "reason")
YARD = Form(
    "yard",
    YardRow,
    ("slug", "name", "region", "currency", "unit", "rounding", "cash_increment", "author"),
)
LABEL = Form(
    "label",
    YardLabelRow,
    ("yard", "label_folded", "valid_from", "label", "grade", "lifted", *_BY),
    {"label_folded": "folded", **_FROM},
)
REFUSAL = Form("refusal", YardRefusalRow, ("yard", "grade", "valid_from", "lifted", *_BY), _FROM)
LIMIT = Form(
    "limit",
    YardLimitRow,
    ("yard", "name", "valid_from", "given", "says", *_BY),
    {"name": "limit", "given": "value", **_FROM},
)
FORMS: Forms = ((YARD, 1), (LABEL, 3), (REFUSAL, 3), (LIMIT, 3))
