"""Yards and their house rules as entries of the ledger.

In one revision the yard comes first, then what is said of it, kind by kind, each by its key.
"""

from __future__ import annotations

from gradewright.db.entries import Form, Forms
from gradewright.db.house import forms
from gradewright.yards.models import YardLabelRow, YardLimitRow, YardRefusalRow, YardRow

YARD = Form(
    "yard",
    YardRow,
    ("slug", "name", "region", "currency", "unit", "rounding", "cash_increment", "author"),
)
FORMS: Forms = ((YARD, 1), *forms("yard", YardLabelRow, YardRefusalRow, YardLimitRow))
