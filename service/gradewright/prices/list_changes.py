"""What a whole list would change, line by line, against the newest prices of its yard."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from gradewright.core.decimals import EXACT, ROUNDING, trimmed_to
from gradewright.core.errors import Fault
from gradewright.core.rates import Rate
from gradewright.core.sightings import Entry
from gradewright.core.spoken import Held
from gradewright.core.units import MASS_UNITS, parse_mass
from gradewright.prices.given import Checked
from gradewright.prices.list_names import Near

NEW, RAISED, LOWERED, SAME, GONE = "new", "raised", "lowered", "same", "gone"
REFUSED, UNKNOWN = "refused", "unknown"
CHANGES = (NEW, RAISED, LOWERED, SAME, GONE, REFUSED, UNKNOWN)
FINEST = Decimal("0.000001")
TENTH = Decimal("0.1")

Key = tuple[str, Decimal, str]
"""Grade, grams from which the price holds, currency: what one price stands against."""


@dataclass(frozen=True, slots=True)
class Claim:
    """The newest price of a yard for a grade and a from-weight, as posted."""

    grade: str
    label: str | None
    price: Decimal
    currency: str
    per: str
    from_weight: str | None
    observed_on: date
    revision: int
    line: int
    posting: str

    @property
    def entry(self) -> Entry:
        """Where it stands in the ledger."""
        return self.revision, self.line

    @property
    def key(self) -> Key:
        """What it is a price of."""
        return self.grade, grams_of(self.from_weight), self.currency


@dataclass(frozen=True, slots=True)
class Change:
    """One line of the list (`number`: in the file), or a price that is missing in it (None: `gone`).

    `by` is in the currency for the line's own unit, at most six places; `percent` of the price before.
    `held`: why its price waits today, once it is stored.
    """

    number: int | None
    kind: str
    checked: Checked | None = None
    before: Claim | None = None
    by: Decimal | None = None
    percent: Decimal | None = None
    faults: tuple[Fault, ...] = ()
    near: tuple[Near, ...] = ()
    label: str | None = None
    grade: str | None = None
    held: Held | None = None


def grams_of(from_weight: str | None) -> Decimal:
    """The weight in grams; none stands for any lot."""
    return Decimal(0) if from_weight is None else parse_mass(from_weight).grams


def key_of(price: Checked) -> Key:
    """What it is a price of."""
    return price.grade, grams_of(price.from_weight), price.currency


def against(number: int, price: Checked, before: Claim | None) -> Change:
    """A line that can be stored, held against the price before, whatever units the two are in."""
    if before is None:
        return Change(number, NEW, price)
    unit, unit_before = MASS_UNITS[price.per].grams, MASS_UNITS[before.per].grams
    now = EXACT.multiply(price.price, unit_before)
    then = EXACT.multiply(before.price, unit)
    if now == then:
        return Change(number, SAME, price, before)
    kind = RAISED if now > then else LOWERED
    percent = None
    if then:
        share = ROUNDING.divide(EXACT.multiply(EXACT.subtract(now, then), Decimal(100)), then.copy_abs())
        percent = share.quantize(TENTH, context=ROUNDING)
    return Change(number, kind, price, before, _difference(price, before), percent)


def _difference(price: Checked, before: Claim) -> Decimal:
    if price.per == before.per:
        return EXACT.subtract(price.price, before.price)
    converted = Rate(before.price, MASS_UNITS[before.per].grams).per(MASS_UNITS[price.per].grams)
    difference = ROUNDING.subtract(price.price, converted).quantize(FINEST, context=ROUNDING)
    return trimmed_to(difference, price.price)
