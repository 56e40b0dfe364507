"""What can be observed of a part: attributes, their values, and how both are read and shown.

An observation that is absent is not known; it is never taken for "no". Values are typed once, at the edge:
a choice is a `str`, yes/no a `bool`, a year an `int`, a date a `date`, and every measure an exact `Decimal`
in the kind's own unit (millimetre, fraction of one, square centimetre, gram per cubic centimetre).
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from enum import StrEnum

from gradewright.core.decimals import EXACT
from gradewright.core.errors import Fault, ObservationError, Path, UnitError
from gradewright.core.units import parse_area, parse_density, parse_length, parse_share, plain, trimmed

HUNDRED = Decimal(100)

Value = str | bool | int | Decimal | date
Observed = Mapping[str, Value]


class Kind(StrEnum):
    """The kinds of attribute; a rulebook names one for each."""

    CHOICE = "choice"
    YES_NO = "yes_no"
    LENGTH = "length"
    SHARE = "share"
    AREA = "area"
    DENSITY = "density"
    YEAR = "year"
    DATE = "date"


MEASURES: dict[Kind, tuple[Callable[[str], Decimal], str]] = {
    Kind.LENGTH: (parse_length, "a length with its unit, such as '6.35 mm', '1/4 in' or '16 AWG'"),
    Kind.SHARE: (parse_share, "a share in percent, such as '5 %'"),
    Kind.AREA: (parse_area, "an area with its unit, such as '10 cm2'"),
    Kind.DENSITY: (parse_density, "a density with its unit, such as '8.9 g/cm3'"),
}

# Each kind's end points: (lowest, is the lowest itself possible, highest or None).
DOMAIN: dict[Kind, tuple[Decimal, bool, Decimal | None]] = {
    Kind.LENGTH: (Decimal(0), False, None),
    Kind.SHARE: (Decimal(0), True, Decimal(1)),
    Kind.AREA: (Decimal(0), False, None),
    Kind.DENSITY: (Decimal(0), False, None),
}

EARLIEST_YEAR, LATEST_YEAR = 1800, 2200


@dataclass(frozen=True, slots=True)
class Attribute:
    """One thing that can be told about a part, how it is told, and in how many minutes."""

    name: str
    kind: Kind
    asks: str
    test: str
    minutes: Decimal
    beware: str
    choices: Mapping[str, str] = field(default_factory=dict)

    def read(self, raw: object) -> Value:
        """The typed value of what was written; `ObservationError` says what to write instead."""
        if self.kind is Kind.CHOICE:
            return self._read_choice(raw)
        if self.kind is Kind.YES_NO:
            if isinstance(raw, bool):
                return raw
            raise self._fault(f"{written(raw)} is not true or false")
        if self.kind is Kind.YEAR:
            return self._read_year(raw)
        if self.kind is Kind.DATE:
            return self._read_date(raw)
        return self._read_measure(raw)

    def show(self, value: Value) -> str:
        """The value as a person writes it, with its unit."""
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, date):
            return value.isoformat()
        if not isinstance(value, Decimal):
            return str(value)
        if self.kind is Kind.SHARE:
            return f"{trimmed(EXACT.multiply(value, HUNDRED))} %"
        unit = {Kind.LENGTH: "mm", Kind.AREA: "cm2", Kind.DENSITY: "g/cm3"}[self.kind]
        return f"{plain(value)} {unit}"

    def _read_choice(self, raw: object) -> str:
        if isinstance(raw, str) and raw in self.choices:
            return raw
        near = tuple(difflib.get_close_matches(str(raw).lower(), self.choices, n=3, cutoff=0.5))
        meant = (
            f"; did you mean {' or '.join(near)}?" if near else f": write one of {', '.join(self.choices)}"
        )
        raise self._fault(f"{written(raw)} is not a value it takes{meant}", near)

    def _read_year(self, raw: object) -> int:
        if isinstance(raw, str) and len(raw) == len("1979") and raw.isascii() and raw.isdigit():
            raw = int(raw)
        if isinstance(raw, int) and not isinstance(raw, bool) and EARLIEST_YEAR <= raw <= LATEST_YEAR:
            return raw
        years = f"{EARLIEST_YEAR} and {LATEST_YEAR}"
        raise self._fault(f"{written(raw)} is not a year between {years}, such as 1979")

    def _read_date(self, raw: object) -> date:
        if isinstance(raw, date):
            return raw
        if isinstance(raw, str) and len(raw) == len("2026-01-01") and raw.isascii():
            try:
                return date.fromisoformat(raw)
            except ValueError:
                pass
        raise self._fault(f"{written(raw)} is not a date: write it as 1979-07-02")

    def _read_measure(self, raw: object) -> Decimal:
        parse, like = MEASURES[self.kind]
        if not isinstance(raw, str):
            raise self._fault(f"{written(raw)} has no unit: write {like}")
        try:
            value = parse(raw)
        except UnitError as error:
            raise self._fault(error.detail) from error
        lowest, inclusive, highest = DOMAIN[self.kind]
        if value < lowest or (value == lowest and not inclusive) or (highest is not None and value > highest):
            raise self._fault(f"{written(raw)} cannot be: write {like}")
        return value

    def _fault(self, problem: str, suggestions: tuple[str, ...] = ()) -> ObservationError:
        detail = f"{self.name}: {problem}"
        return ObservationError(detail, faults=(Fault(detail, (self.name,), suggestions),))


def written(raw: object) -> str:
    """What was given, as a document or a request writes it."""
    return str(raw).lower() if isinstance(raw, bool) else repr(raw)


def no_attribute(attributes: Mapping[str, Attribute], name: str, at: Path) -> Fault:
    """That a rulebook has no attribute of a name, and which may have been meant."""
    near = tuple(difflib.get_close_matches(name, attributes, n=3, cutoff=0.5))
    meant = f"; did you mean {' or '.join(near)}?" if near else ""
    return Fault(f"{name!r} is not an attribute of this rulebook{meant}", at, near)


def read_observations(attributes: Mapping[str, Attribute], raw: Mapping[str, object]) -> dict[str, Value]:
    """Type every raw observation; all faults are told together, each pointing at its attribute."""
    observed: dict[str, Value] = {}
    faults: list[Fault] = []
    for name, value in raw.items():
        attribute = attributes.get(name)
        if attribute is None:
            faults.append(no_attribute(attributes, name, (name,)))
            continue
        try:
            observed[name] = attribute.read(value)
        except ObservationError as error:
            faults.extend(error.faults)
    if faults:
        raise ObservationError("; ".join(fault.detail for fault in faults), faults=tuple(faults))
    return observed
