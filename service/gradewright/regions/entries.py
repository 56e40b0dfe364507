"""Regions and their house rules as entries of the ledger.

In one revision the region comes first, then what is said of it, kind by kind, each by its key.
"""

from __future__ import annotations

from gradewright.db.entries import Form, Forms
from gradewright.regions.models import RegionLabelRow, RegionLimitRow, RegionRefusalRow, RegionRow

_FROM = {"valid_from": "from"}
_BY = ("author", "reason")
REGION = Form("region", RegionRow, ("code", "name", "parent", "currency", "unit", "author"))
LABEL = Form(
    "label",
    RegionLabelRow,
    ("region", "label_folded", "valid_from", "label", "grade", "lifted", *_BY),
    {"label_folded": "folded", **_FROM},
)
REFUSAL = Form("refusal", RegionRefusalRow, ("region", "grade", "valid_from", "lifted", *_BY), _FROM)
LIMIT = Form(
    "limit",
    RegionLimitRow,
    ("region", "name", "valid_from", "given", "says", *_BY),
    {"name": "limit", "given": "value", **_FROM},
)
FORMS: Forms = ((REGION, 1), (LABEL, 3), (REFUSAL, 3), (LIMIT, 3))
