"""Whole lists as files: what their columns are."""

from __future__ import annotations

from gradewright.web.tables import Table

# A label is as the yard writes it, whatever blanks are around it.
LISTS = Table(
    columns=("label", "grade", "price", "currency", "per", "from_weight"),
    needs=(
        (frozenset({"price"}), "There is no column price."),
        (
            frozenset({"label", "grade"}),
            "There is no column label, and none grade: one of them says what was priced.",
        ),
    ),
    example='{"label": "#2 Cu", "price": "3.35"}',
    holds="price",
    as_written=frozenset({"label"}),
    amounts=frozenset({"price", "from_weight"}),
)
