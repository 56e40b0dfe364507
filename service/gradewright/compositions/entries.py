"""What came out of devices as entries of the ledger: kinds, records, their parts, later words."""

from __future__ import annotations

from gradewright.compositions.models import (
    ComponentRow,
    CompositionRow,
    CompositionWithdrawalRow,
    DeviceKindCorrectionRow,
    DeviceKindRow,
)
from gradewright.db.entries import Form, Forms

KIND = Form("device_kind", DeviceKindRow, ("slug", "name", "grade", "author"))
COMPOSITION = Form(
    "composition",
    CompositionRow,
    (
        "id",
        "kind",
        "taken_on",
        "weight",
        "made_year",
        "model",
        "minutes",
        "region",
        "source",
        "from_memory",
        "note",
        "rulebook",
        "author",
    ),
    {"id": "composition", "kind": "device_kind"},
)
COMPONENT = Form(
    "component",
    ComponentRow,
    ("composition", "line", "grade", "weight", "share", "count", "observed", "says"),
    {"line": "part"},
)
WITHDRAWAL = Form("composition_withdrawal", CompositionWithdrawalRow, ("composition", "author", "reason"))
KIND_CORRECTION = Form(
    "device_kind_correction",
    DeviceKindCorrectionRow,
    ("kind", "name", "grade", "author", "reason"),
    {"kind": "device_kind"},
)
FORMS: Forms = ((KIND, 1), (COMPOSITION, 1), (COMPONENT, 2), (WITHDRAWAL, 1), (KIND_CORRECTION, 1))
