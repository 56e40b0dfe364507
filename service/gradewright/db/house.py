"""House rules as rows: regions and yards keep them in tables of the same columns."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any, Protocol

from gradewright.core.house import HouseRules, Label, OwnLimit, Refusal
from gradewright.db.base import Base
from gradewright.db.entries import Form

Rows = dict[str, list[dict[str, Any]]]
"""By kind, as the entries of the ledger call them: limit, label, refusal."""


def forms(
    place: str, label: type[Base], refusal: type[Base], limit: type[Base]
) -> Sequence[tuple[Form, int]]:
    """How the rows of each kind become entries of the ledger, whoever said them: a `yard` or a `region`."""
    by, begins = ("author", "reason"), {"valid_from": "from"}
    labels = (place, "label_folded", "valid_from", "label", "grade", "lifted", *by)
    limits = (place, "name", "valid_from", "given", "says", *by)
    return (
        (Form("label", label, labels, {"label_folded": "folded", **begins}), 3),
        (Form("refusal", refusal, (place, "grade", "valid_from", "lifted", *by), begins), 3),
        (Form("limit", limit, limits, {"name": "limit", "given": "value", **begins}), 3),
    )


class _Said(Protocol):
    valid_from: Any
    revision: Any
    author: Any
    reason: Any


class LimitRow(_Said, Protocol):
    """A place's own value of a limit."""

    name: Any
    given: Any
    says: Any


class RefusalRow(_Said, Protocol):
    """A grade that a place does not take."""

    grade: Any
    lifted: Any


class LabelRow(RefusalRow, Protocol):
    """A place's own word for a grade."""

    label: Any


def read_rules(
    before: HouseRules,
    limits: Iterable[LimitRow],
    labels: Iterable[LabelRow],
    refusals: Iterable[RefusalRow],
) -> HouseRules:
    """What a place has said before, and the rows that have come since."""
    return HouseRules(
        (
            *before.limits,
            *(
                OwnLimit(r.name, r.given, r.valid_from, r.says, r.revision, r.author, r.reason)
                for r in limits
            ),
        ),
        (
            *before.labels,
            *(
                Label(r.label, r.grade, r.valid_from, r.revision, bool(r.lifted), r.author, r.reason)
                for r in labels
            ),
        ),
        (
            *before.refusals,
            *(
                Refusal(r.grade, r.valid_from, r.revision, bool(r.lifted), r.author, r.reason)
                for r in refusals
            ),
        ),
    )


def rows_of(said: HouseRules, **own: Any) -> Rows:
    """The rows of what is said; `own`: the columns of the place, and the revision."""
    return {
        "limit": [
            {**_by(limit), "name": limit.name, "given": limit.given, "says": limit.says, **own}
            for limit in said.limits
        ],
        "label": [
            {
                **_by(label),
                "label": label.label,
                "label_folded": label.key,
                "grade": label.grade,
                "lifted": label.lifted,
                **own,
            }
            for label in said.labels
        ],
        "refusal": [
            {**_by(refusal), "grade": refusal.grade, "lifted": refusal.lifted, **own}
            for refusal in said.refusals
        ],
    }


def _by(word: OwnLimit | Label | Refusal) -> dict[str, date | str | None]:
    return {"valid_from": word.valid_from, "author": word.author, "reason": word.reason}
