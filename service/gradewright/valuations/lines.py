"""The lines of an answer as canonical JSON.

All of a priced line but its name, count, weight, amounts and gains is the same for every part of the same
description at the same price: that much is encoded once, as a form with holes, and filled in for each part.
"""

from __future__ import annotations

from decimal import Decimal
from json.encoder import encode_basestring
from typing import Any, NamedTuple

import msgspec

from gradewright.core.decimals import ROUNDING, plain, trimmed
from gradewright.core.description import Description
from gradewright.core.grading import Contradiction, Graded, Grader, Undecided
from gradewright.core.pricelist import Price
from gradewright.core.raising import Raised
from gradewright.core.rates import Amount
from gradewright.core.valuation import Line, cautions_of
from gradewright.valuations.shapes import question
from gradewright.valuations.weights import Weight

HOLES = ("amount", "count", "name", "raises", "weight")  # in the order of canonical JSON
FORMS_KEPT = 5_000
MINUTES = Decimal("0.01")
NOTHING_RAISED = "[]"

_encode = msgspec.json.Encoder(order="sorted").encode
_Key = tuple[Description | str, Price, Grader]


class Form(NamedTuple):
    """The text before, between and behind the holes."""

    to_amount: str
    to_count: str
    to_name: str
    to_raises: str
    to_weight: str
    end: str


class Lines:
    """Encodes lines, and keeps the forms that it has made."""

    def __init__(self) -> None:
        self._forms: dict[_Key, Form] = {}

    def encode(self, line: Line, weight: Weight, grader: Grader) -> str:
        """One line as canonical JSON."""
        part, amount, price = line.part, line.amount, line.price
        described = part.description or part.grade
        if amount is None or price is None or described is None:
            return _encode(fields(line, weight, grader)).decode()
        key = (described, price, grader)
        form = self._forms.get(key)
        if form is None:
            form = self._remember(key, _form(fields(line, weight, grader)))
        raised = (
            _encode([_raised(r, grader) for r in line.raises]).decode() if line.raises else NOTHING_RAISED
        )
        return (
            f'{form.to_amount}{{"high":"{amount.high!s}","likely":"{amount.likely!s}","low":"{amount.low!s}"}}'
            f"{form.to_count}{part.pieces}{form.to_name}{encode_basestring(part.name)}"
            f"{form.to_raises}{raised}{form.to_weight}{weight.json}{form.end}"
        )

    def _remember(self, key: _Key, form: Form) -> Form:
        if len(self._forms) >= FORMS_KEPT:
            self._forms.clear()
        self._forms[key] = form
        return form


def fields(line: Line, weight: Weight, grader: Grader) -> dict[str, Any]:
    """All members of a line, as plain values."""
    part, book = line.part, grader.rulebook
    outcome = part.description.outcome if part.description is not None else None
    rule = outcome.rule if isinstance(outcome, Graded) else None
    because = rule.because if rule is not None else None
    if isinstance(outcome, Contradiction):
        because = " ".join(entry.because for entry in outcome.impossible)
    return {
        "name": part.name,
        "count": part.pieces,
        "weight": {"given": weight.given, "kg": weight.kg, "shown": weight.shown},
        "outcome": outcome_name(outcome),
        "grade": part.grade,
        "grade_name": book.grades[part.grade].name if part.grade is not None else None,
        "rule": rule.id if rule is not None else None,
        "because": because,
        "source": rule.source if rule is not None else None,
        "confidence": rule.confidence if rule is not None else None,
        "candidates": [
            {"grade": grade, "name": book.grades[grade].name, "amount": amount_shown(amount)}
            for grade, amount in line.candidates
        ],
        "next_test": question(line.next_test),
        "price": line.price.shown if line.price is not None else None,
        "amount": amount_shown(line.amount),
        "unpriced": line.unpriced,
        "raises": [_raised(raised, grader) for raised in line.raises],
        "cautions": [caution.id for caution in cautions_of(part, grader)],
    }


def amount_shown(amount: Amount | None) -> dict[str, str] | None:
    """Money as decimal text."""
    if amount is None:
        return None
    # Rounded to a currency's minor unit, a decimal has one spelling, and `str` is the quickest way to it.
    return {"low": str(amount.low), "likely": str(amount.likely), "high": str(amount.high)}


def outcome_name(outcome: object) -> str:
    """The outcome's word in answers; a part that was named by its grade has none to tell."""
    if outcome is None:
        return "named"
    if isinstance(outcome, Graded):
        return "graded"
    if isinstance(outcome, Undecided):
        return "undecided"
    return "contradiction" if isinstance(outcome, Contradiction) else "ungraded"


def _raised(raised: Raised, grader: Grader) -> dict[str, Any]:
    preparation, grade = raised.step.preparation, raised.step.grade
    return {
        "preparation": preparation.id,
        "name": preparation.name,
        "how": preparation.how,
        "minutes": trimmed(raised.minutes.quantize(MINUTES, context=ROUNDING)),
        "grade": grade,
        "grade_name": grader.rulebook.grades[grade].name,
        "gain": plain(raised.gain),
        "per_hour": None if raised.per_hour is None else plain(raised.per_hour),
        "cautions": preparation.cautions,
    }


def _form(values: dict[str, Any]) -> Form:
    """The text between the holes: members in sorted order, the static ones encoded."""
    texts, text = [], "{"
    for number, name in enumerate(sorted(values)):
        text += f'{"," if number else ""}"{name}":'
        if name in HOLES:
            texts.append(text)
            text = ""
        else:
            text += _encode(values[name]).decode()
    to_amount, to_count, to_name, to_raises, to_weight = texts
    return Form(to_amount, to_count, to_name, to_raises, to_weight, text + "}")
