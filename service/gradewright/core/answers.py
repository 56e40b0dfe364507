"""The answers of the core in the shape in which they are given: encoded as they stand, byte for byte the
same.

Decimals are text here already: an amount or a weight has one spelling, and every machine writes that one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from gradewright.core.observations import Attribute, Kind
from gradewright.core.pricelist import Shown
from gradewright.core.units import trimmed


@dataclass(frozen=True, slots=True)
class Amount:
    """Money in the valuation's currency, as decimal text."""

    low: str
    likely: str
    high: str


@dataclass(frozen=True, slots=True)
class WeightShown:
    """A weight as given, exactly in kilograms, and in both notations for people."""

    given: str
    kg: str
    shown: str


@dataclass(frozen=True, slots=True)
class Candidate:
    """A grade that the part can still turn out to be, and what it would come to."""

    grade: str
    name: str
    amount: Amount | None


@dataclass(frozen=True, slots=True)
class NextTest:
    """What to find out next, how, and in how many minutes."""

    attribute: str
    asks: str
    kind: str
    choices: Mapping[str, str] | None
    test: str
    minutes: str
    beware: str

    @classmethod
    def of(cls, attribute: Attribute) -> NextTest:
        """The question that an attribute puts."""
        return cls(
            attribute.name,
            attribute.asks,
            attribute.kind.value,
            dict(attribute.choices) if attribute.kind is Kind.CHOICE else None,
            attribute.test,
            trimmed(attribute.minutes),
            attribute.beware,
        )


@dataclass(frozen=True, slots=True)
class Raise:
    """A preparation that leads to a better grade: what it adds in all, and per hour of the work."""

    preparation: str
    name: str
    how: str
    minutes: str
    grade: str
    grade_name: str
    gain: str
    per_hour: str | None
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Line:
    """One part, answered."""

    name: str
    count: int
    weight: WeightShown
    outcome: str
    grade: str | None
    grade_name: str | None
    rule: str | None
    because: str | None
    source: str | None
    confidence: str | None
    candidates: tuple[Candidate, ...]
    next_test: NextTest | None
    price: Shown | None
    amount: Amount | None
    unpriced: str | None
    raises: tuple[Raise, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Pile:
    """All parts of one grade together."""

    grade: str
    name: str
    weight_kg: str
    lines: int
    amount: Amount | None


@dataclass(frozen=True, slots=True)
class Totals:
    """Sums of the priced lines; `cash` is the likely total in the steps that a yard pays in cash."""

    low: str
    likely: str
    high: str
    cash: str | None
    priced: int
    unpriced: int


@dataclass(frozen=True, slots=True)
class CautionShown:
    """What can hurt someone, or is governed by law."""

    id: str
    name: str
    says: str
    source: str


@dataclass(frozen=True, slots=True)
class Valuation:
    """The whole answer but for the request's own words and the pins."""

    complete: bool
    currency: str
    parts: tuple[Line, ...]
    piles: tuple[Pile, ...]
    totals: Totals
    missing: tuple[str, ...]
    cautions: tuple[CautionShown, ...]


NO_CANDIDATES: tuple[Candidate, ...] = ()
