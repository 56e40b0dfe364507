"""What callers hand in: parts to value, prices seen. A mapping with the same keys does as well."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import date
from decimal import Decimal

Observation = str | bool | int | date
Observed = Mapping[str, Observation]


@dataclass(frozen=True, slots=True)
class Part:
    """A piece, or several alike.

    Give `weight` (all pieces together) or `weight_each`, as text with a unit ("2 lb 3 oz", "1.35 kg"), and
    either what was `observed` or the `grade` (a slug or an alias). What is not observed is simply left out.
    Observations: text for choices ("copper") and measures with their unit ("6.35 mm"), True or False, a year
    as an int, a date.
    """

    name: str
    count: int | None = None
    weight: str | None = None
    weight_each: str | None = None
    observed: Observed | None = None
    grade: str | None = None


@dataclass(frozen=True, slots=True)
class PriceSeen:
    """One price at a yard: `price` in `currency` per mass unit `per`, from `from_weight` on if the yard says
    so.

    Name the grade by its slug or alias in `grade`, or by the yard's own word in `label`.
    """

    price: Decimal | int | str
    currency: str
    per: str
    grade: str | None = None
    label: str | None = None
    from_weight: str | None = None


def as_mapping(given: Part | PriceSeen | Mapping[str, object]) -> Mapping[str, object]:
    """The same as a mapping."""
    if isinstance(given, Mapping):
        return given
    return {one.name: getattr(given, one.name) for one in fields(given)}
