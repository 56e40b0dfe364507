"""The lines of an answer as canonical JSON.

All of a priced line but its name, count, weight, amounts and gains is the same for every part of the same
description at the same price: that much is encoded once, as a form with holes, and filled in for each part.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from json.encoder import encode_basestring
from typing import Any, NamedTuple

import msgspec

from gradewright.core.alike import TooLittle
from gradewright.core.decimals import trimmed
from gradewright.core.description import Description
from gradewright.core.grading import Contradiction, Graded, Grader, Undecided
from gradewright.core.methods import ALL_CHOICES, NEXT_TEST_ALONE, RULE_ALONE, concerning_part
from gradewright.core.pricelist import Price
from gradewright.core.rates import Amount
from gradewright.core.rulebook import Rule
from gradewright.core.valued import Line
from gradewright.valuations.amounts import Cents, amount_shown, amount_text, spelled
from gradewright.valuations.dialogue import percent
from gradewright.valuations.raises import WorkText
from gradewright.valuations.shapes import house_limit, question, question_about
from gradewright.valuations.weights import Weight

HOLES = ("amount", "count", "name", "raises", "weight")  # in the order of canonical JSON
FORMS_KEPT = 5_000
NOTHING_RAISED = "[]"

_encode = msgspec.json.Encoder(order="sorted").encode
_Key = tuple[Description | str, Price]  # a price belongs to one list, and that to one version


class Form(NamedTuple):
    """The text before, between and behind the holes."""

    to_amount: str
    to_count: str
    to_name: str
    to_raises: str
    to_weight: str
    end: str


class Lines:
    """Encodes lines of valuations by one method, and keeps the forms that it has made."""

    def __init__(self, method: str) -> None:
        self._method = method
        self._forms: dict[_Key, Form] = {}
        self._work = WorkText()

    def encode(
        self, lines: Sequence[Line], weights: Sequence[Weight], grader: Grader, cents: Cents
    ) -> Iterator[str]:
        """Each line as canonical JSON; `weights` are in the order of the lines."""
        forms = self._forms
        for line, weight in zip(lines, weights, strict=True):
            part, price, amount, _, raises, _, _, _, _ = line
            name, pieces, _, _, grade, description, _ = part
            described = description or grade
            if amount is None or price is None or described is None:
                yield _encode(fields(line, weight, grader, cents, self._method)).decode()
                continue
            form = forms.get((described, price))
            if form is None:
                told = fields(line, weight, grader, cents, self._method)
                form = self._remember((described, price), _form(told))
            to_amount, to_count, to_name, to_raises, to_weight, end = form
            raised = NOTHING_RAISED
            if raises:
                raised = self._work.encode(raises, grader.rulebook, cents)
            yield (
                f"{to_amount}{amount_text(amount, cents)}{to_count}{pieces}{to_name}{encode_basestring(name)}"
                f"{to_raises}{raised}{to_weight}{weight.json}{end}"
            )

    def _remember(self, key: _Key, form: Form) -> Form:
        if len(self._forms) >= FORMS_KEPT:
            self._forms.clear()
        self._forms[key] = form
        return form


def fields(line: Line, weight: Weight, grader: Grader, cents: Cents, method: str) -> dict[str, Any]:
    """All members of a line of a valuation by a method, as plain values."""
    part, book = line.part, grader.rulebook
    outcome = part.description.outcome if part.description is not None else None
    rule = outcome.rule if isinstance(outcome, Graded) else None
    because = rule.because if rule is not None else None
    if isinstance(outcome, Contradiction):
        because = " ".join(entry.because for entry in outcome.impossible)
    house = part.description.house if part.description is not None else ()
    if because is not None and part.description is not None:
        because = part.description.because(because)
    # Only where there is something to tell: older answers, which can be repeated, know no such members.
    told_of_house = {"house_limits": [house_limit(limit) for limit in house]} if house else {}
    settled_by = rule.settled_by if rule is not None else None
    told_of_dispute = {"settled_by": settled_by} if settled_by is not None else {}
    not_worth = line.not_worth
    told_of_asking: dict[str, Any] = {}
    if isinstance(not_worth, TooLittle):
        told_of_asking["not_worth"] = {
            "cheapest": not_worth.cheapest,
            "dearest": not_worth.dearest,
            "spread": spelled(not_worth.spread, cents),
            "minutes": trimmed(not_worth.minutes),
            "costs": spelled(not_worth.costs, cents),
        }
        if method not in NEXT_TEST_ALONE:
            told_of_asking["not_worth"]["adds"] = spelled(not_worth.adds, cents)
    elif not_worth is not None:
        told_of_asking["not_worth"] = {
            "cheapest": not_worth.cheapest,
            "dearest": not_worth.dearest,
            "share": percent(not_worth.share),
            "within": percent(not_worth.within),
        }
    if line.in_doubt:
        told_of_asking["in_doubt"] = [caution.id for caution in line.in_doubt]
    cautions = concerning_part(part, grader, method)
    if cautions.possible:
        told_of_asking["possible_cautions"] = [caution.id for caution in cautions.possible]
    return {
        **told_of_asking,
        **told_of_house,
        **told_of_dispute,
        "name": part.name,
        "count": part.pieces,
        "weight": {"given": weight.given, "kg": weight.kg, "shown": weight.shown},
        "outcome": outcome_name(outcome),
        "grade": part.grade,
        "grade_name": book.grades[part.grade].name if part.grade is not None else None,
        "rule": rule.id if rule is not None else None,
        "because": because,
        "source": rule.source if rule is not None else None,
        "confidence": _how_sure(part.description, rule, method),
        "candidates": [
            {"grade": grade, "name": book.grades[grade].name, "amount": _shown(amount, cents)}
            for grade, amount in line.candidates
        ],
        "next_test": _next_test(line, grader, method),
        "price": line.price.shown if line.price is not None else None,
        "amount": _shown(line.amount, cents),
        "unpriced": line.unpriced,
        "raises": msgspec.Raw(WorkText().encode(line.raises, book, cents).encode()),
        "cautions": [caution.id for caution in cautions.all],
    }


def _how_sure(described: Description | None, rule: Rule | None, method: str) -> str | None:
    if described is None or rule is None:
        return None
    return rule.confidence if method in RULE_ALONE else described.how_sure(rule)


def _next_test(line: Line, grader: Grader, method: str) -> dict[str, Any] | None:
    described = line.part.description
    if described is None or method in ALL_CHOICES:
        return question(line.next_test)
    return question_about(grader, described.reading, line.next_test)


def _shown(amount: Amount | None, cents: Cents) -> dict[str, str] | None:
    return None if amount is None else amount_shown(amount, cents)


def outcome_name(outcome: object) -> str:
    """The outcome's word in answers; a part that was named by its grade has none to tell."""
    if outcome is None:
        return "named"
    if isinstance(outcome, Graded):
        return "graded"
    if isinstance(outcome, Undecided):
        return "undecided"
    return "contradiction" if isinstance(outcome, Contradiction) else "ungraded"


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
