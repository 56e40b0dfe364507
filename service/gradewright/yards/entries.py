"""Yards, their labels and their refusals as entries of the ledger.

In one revision the yard comes first, then what is said of it, kind by kind, each by its key.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.db.entries import Entry, Form, Line, in_order
from gradewright.yards.models import YardLabelRow, YardRefusalRow, YardRow

FROM = {"valid_from": "from"}
YARD = Form("yard", YardRow, ("slug", "name", "region", "currency", "unit", "rounding", "cash_increment"))
LABEL = Form(
    "label",
    YardLabelRow,
    ("yard", "label_folded", "valid_from", "label", "grade"),
    {"label_folded": "folded", **FROM},
)
REFUSAL = Form("refusal", YardRefusalRow, ("yard", "grade", "valid_from"), FROM)
FORMS: tuple[tuple[Form, int], ...] = ((YARD, 1), (LABEL, 3), (REFUSAL, 3))
"""In the order of their lines in a revision, with how many of their first members are the key."""


def written(rows: Mapping[str, Iterable[Mapping[str, Any]]]) -> list[Entry]:
    """The entries of one write, in order: the rows that it adds, by kind, each its columns by name."""
    found = [
        (0, rank, [row[member] for member in form.members[:key]], form.of(row))
        for rank, (form, key) in enumerate(FORMS)
        for row in rows.get(form.kind, ())
    ]
    return [line.entry for line in in_order(found)]


async def between(session: AsyncSession, after: int, upto: int) -> list[Line]:
    """What was made and said of yards after revision `after`, up to `upto`."""
    found = []
    for rank, (form, key) in enumerate(FORMS):
        for revision, *values in await form.read(session, after, upto):
            found.append((revision, rank, values[:key], form.entry(values)))
    return in_order(found)
