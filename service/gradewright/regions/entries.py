"""Regions and their house rules as entries of the ledger.

In one revision the region comes first, then what is said of it, kind by kind, each by its key.
"""

from __future__ import annotations

from gradewright.db.entries import Form, Forms
from gradewright.db.house import forms
from gradewright.regions.models import RegionLabelRow, RegionLimitRow, RegionRefusalRow, RegionRow

REGION = Form("region", RegionRow, ("code", "name", "parent", "currency", "unit", "author"))
FORMS: Forms = ((REGION, 1), *forms("region", RegionLabelRow, RegionRefusalRow, RegionLimitRow))
