"""The bytes of an answer. Canonical JSON: sorted keys, no spaces, UTF-8, every decimal as text.

`pins.sha256` is the SHA-256 of those bytes with that one member left out, so that anyone can check it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from json.encoder import encode_basestring

from gradewright.answers.pins import Answer, Pins, canonical
from gradewright.core.decimals import EXACT, plain
from gradewright.core.grading import Grader
from gradewright.core.methods import CERTAIN_ONLY, METHODS, WITHOUT_POINTERS
from gradewright.core.valued import Pile, Valuation
from gradewright.valuations.amounts import Cents, amount_shown, amount_text, cents_of
from gradewright.valuations.lines import Lines
from gradewright.valuations.pointed import told
from gradewright.valuations.pointing import NOTHING, Pointed, with_those_of
from gradewright.valuations.shapes import warning, warnings
from gradewright.valuations.weights import KILOGRAM, Weight


@dataclass(frozen=True, slots=True)
class Asked:
    """The place, the day and the hourly rate of a request, as they stand in its answer."""

    region: str
    yard: str | None
    on: date
    hour_rate: Decimal | None = None


class Answers:
    """Encodes valuations."""

    def __init__(self) -> None:
        # What is remembered of a line differs from method to method.
        self._lines = {method: Lines(method) for method in METHODS}

    def encode(
        self,
        asked: Asked,
        valuation: Valuation,
        weights: Sequence[Weight],
        grader: Grader,
        pins: Pins,
        pointed: Pointed = NOTHING,
    ) -> Answer:
        """The answer to a request: the valuation, what would pay beside it, where and for which day, and its
        pins."""
        cents = cents_of(valuation.currency)
        parts = ",".join(self._lines[pins.method].encode(valuation.lines, weights, grader, cents))
        piles = ",".join([_pile(pile, grader, cents) for pile in valuation.piles])
        totals = valuation.totals
        before: dict[str, object] = {
            "cautions": (
                list(map(warning, valuation.cautions.certain))
                if pins.method in CERTAIN_ONLY
                else warnings(with_those_of(valuation.cautions, pointed))
            ),
            "complete": valuation.complete,
            "currency": valuation.currency,
            "missing": [f"{each.part.name}: {each.unpriced}" for each in valuation.lines if each.unpriced],
            "on": asked.on,
        }
        if asked.hour_rate is not None:  # older answers know no such member
            before["hour_rate"] = plain(asked.hour_rate)
        behind: dict[str, object] = {
            "region": asked.region,
            "totals": {
                **amount_shown(totals.amount, cents),
                "cash": None if totals.cash is None else plain(totals.cash),
                "priced": totals.priced,
                "unpriced": totals.unpriced,
            },
            "yard": asked.yard,
        }
        if pins.method not in WITHOUT_POINTERS:
            behind["pointers"] = told(pointed.pointers, grader.rulebook, cents)
        named = pins.named()
        # In the order of canonical JSON, in which nothing that was encoded is encoded again.
        start = (
            f'{_text(before)[:-1]},"parts":[{parts}],"piles":[{piles}],"pins":{_text(named)[:-1]}'.encode()
        )
        end = f"}},{_text(behind)[1:]}".encode()
        sha256 = hashlib.sha256(start + end).hexdigest()
        return Answer(b'%b,"sha256":"%b"%b' % (start, sha256.encode(), end), pins, sha256)


def _text(value: object) -> str:
    return canonical(value).decode()


def _pile(pile: Pile, grader: Grader, cents: Cents) -> str:
    name = encode_basestring(grader.rulebook.grades[pile.grade].name)
    kg = plain(EXACT.divide(pile.grams, KILOGRAM))
    return (
        f'{{"amount":{amount_text(pile.amount, cents)},"grade":"{pile.grade}","lines":{pile.lines},'
        f'"name":{name},"weight_kg":"{kg}"}}'
    )
