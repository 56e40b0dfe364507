"""What is asked for, as written in the request: plain text, so that it is kept as it came and read again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import date
from typing import Any

from gradewright.core.recovery.conductors import Conductor
from gradewright.db.knowing import KnownAt


@dataclass(frozen=True, slots=True)
class Strip:
    """The lot that may be stripped, the minutes for each kilogram or metre, and what an hour is worth.

    `disposal`: what it costs to be rid of one `disposal_per` of insulation; `disposal_once`: for the haul.
    """

    lot: str
    minutes_per_kg: str | None = None
    minutes_per_metre: str | None = None
    hour_rate: str = "0"
    disposal: str = "0"
    disposal_per: str = "kg"
    disposal_once: str = "0"


@dataclass(frozen=True, slots=True)
class Cable:
    """A cable by its build; `observed`: what else is known of it, and of its conductor."""

    conductors: tuple[Conductor, ...]
    weight: str
    length: str
    scale: str | None = None
    length_within: str | None = None
    observed: Mapping[str, Any] | None = None
    strip: Strip | None = None


@dataclass(frozen=True, slots=True)
class Sample:
    """A piece of cable weighed before and after stripping."""

    weight: str
    copper: str
    scale: str | None = None
    observed: Mapping[str, Any] | None = None
    strip: Strip | None = None


@dataclass(frozen=True, slots=True)
class Displaced:
    """A piece weighed dry, and in water or by the volume that it moves aside; `water` in degrees Celsius."""

    dry: str
    in_water: str | None = None
    displaced: str | None = None
    scale: str | None = None
    vessel: str | None = None
    water: str | None = None
    observed: Mapping[str, Any] | None = None


@dataclass(frozen=True, slots=True)
class Metal:
    """A precious metal: its content, or none where publications are to tell; its price, and a buyer's terms.

    `price` and `refining` are for one `per` of the metal.
    """

    metal: str
    low: str | None = None
    high: str | None = None
    price: str | None = None
    benchmark: str | None = None
    per: str = "ozt"
    payable: str | None = None
    deduction: str | None = None
    refining: str | None = None


@dataclass(frozen=True, slots=True)
class Assay:
    """A lot with its precious metals; `like`: the kind of thing that publications are looked up for."""

    lot: str
    metals: tuple[Metal, ...]
    scale: str | None = None
    like: str | None = None
    currency: str | None = None
    treatment: str | None = None
    treatment_per: str = "kg"
    charge: str | None = None
    smallest_lot: str | None = None


What = Cable | Sample | Displaced | Assay
KINDS: dict[str, type[What]] = {
    "cable": Cable,
    "sample": Sample,
    "displacement": Displaced,
    "assay": Assay,
}
_MEMBERS: dict[str, Any] = {"strip": Strip, "conductors": Conductor, "metals": Metal}


@dataclass(frozen=True, slots=True)
class Request:
    """What is to be recovered, where and by what: `None` means nowhere, the newest, or today."""

    kind: str
    what: What
    region: str | None = None
    yard: str | None = None
    on: date | None = None
    known_at: KnownAt = None
    rulebook: str | None = None


def read_what(kind: str, plain: Mapping[str, Any]) -> What:
    """The request's member of that kind, from plain values."""
    form = KINDS[kind]
    known = {each.name for each in fields(form)}
    return form(**{name: _member(name, value) for name, value in plain.items() if name in known})


def _member(name: str, value: Any) -> Any:
    form = _MEMBERS.get(name)
    if form is None or value is None:
        return value
    return tuple(form(**each) for each in value) if isinstance(value, list) else form(**value)
